// Package input listens at a line input.
//
//	in := input.Open(id, func(block [2][]float32) { ... })
//	defer in.Close()
//	if err := in.Err(); err != nil {
//		// one sentence: it was refused, or pulled out
//	}
//
// Samples come in two channels at audio.Rate, full scale is ±1, as the system
// hands them over: without echo cancelling, noise suppression or automatic gain.
// Nothing is kept and nothing is played.
//
// On Linux a pure Go client (github.com/jfreymuth/pulse) talks to the sound server
// by its own protocol, PulseAudio's, which PipeWire speaks too. A library for all
// systems (github.com/gen2brain/malgo) was tried as well and reads the same levels,
// but its C takes 52 s to compile at the first start, and needs a C compiler, which
// a start on Windows does without. In a browser the page asks for the input
// (getUserMedia, W3C Media Capture and Streams). Elsewhere there are no devices:
// there the browser edition listens.
package input

import (
	"sync"
	"time"

	"slowneedle/audio/said"
)

// Device is an input that can be listened at.
type Device struct {
	ID   string // as the system calls it, for Open
	Name string // for people
}

// Input is an input that is being listened at, or that is about to be: a browser
// asks its reader first.
type Input struct {
	take func(block [2][]float32)

	mu     sync.Mutex
	heard  time.Time // when samples came last; zero: none yet
	err    error
	close  func() // lets the device go, once there is one
	closed bool
}

// Open begins to listen at a device and returns at once. Samples go to take, block
// by block, one call after the other; the block is valid until take returns.
func Open(id string, take func(block [2][]float32)) *Input {
	in := &Input{take: take}
	in.open(id)
	return in
}

// Err returns why nothing comes in, in one sentence: the device was refused, is not
// there, or was pulled out. It is nil while there is nothing wrong.
func (in *Input) Err() error {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.err == nil && !in.heard.IsZero() && time.Since(in.heard) > lost {
		in.err = errGone
	}
	return in.err
}

// lost is how long a device may give no samples before it counts as pulled out.
const lost = time.Second

var errGone = said.Errorf("input.gone", "the line input is gone: it was pulled out, or the sound server ended; plug it in and begin again")

// Close stops listening.
func (in *Input) Close() {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.closed = true
	if in.close != nil {
		in.close()
		in.close = nil
	}
}

// opened takes the way in which the device is let go; a later one takes its place.
func (in *Input) opened(close func()) {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.closed {
		close()
		return
	}
	in.close = close
}

// done reports whether it was closed.
func (in *Input) done() bool {
	in.mu.Lock()
	defer in.mu.Unlock()
	return in.closed
}

// fail takes why nothing comes in; the first reason counts.
func (in *Input) fail(err error) {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.err == nil {
		in.err = err
	}
}

// came hands samples on.
func (in *Input) came(block [2][]float32) {
	in.mu.Lock()
	in.heard = time.Now()
	in.mu.Unlock()
	if !in.done() {
		in.take(block)
	}
}
