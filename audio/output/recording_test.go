package output

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"slowneedle/audio/output/nullsink"
	"slowneedle/audio/wavfile"
)

// recording is what a sink plays, as it comes in.
type recording struct {
	tb   testing.TB
	cmd  *exec.Cmd
	said bytes.Buffer
	done chan struct{}

	mu      sync.Mutex
	sides   [2][]float32
	arrived []arrival
}

// arrival is when the frames up to a number had come in.
type arrival struct {
	frames int
	at     time.Time
}

// record starts to record what is played, 48 kHz stereo. It returns when the
// first samples have come in. It needs the program parec.
func record(tb testing.TB, sink *nullsink.Sink) *recording {
	tb.Helper()
	r := &recording{tb: tb, done: make(chan struct{})}
	r.cmd = sink.Command("parec", "--raw", "--device=room.monitor", "--format=float32le",
		"--rate=48000", "--channels=2", "--latency-msec=5")
	r.cmd.Stderr = &r.said
	pipe, err := r.cmd.StdoutPipe()
	if err != nil {
		tb.Fatal(err)
	}
	if err := r.cmd.Start(); err != nil {
		tb.Fatalf("cannot record: %v", err)
	}
	first := make(chan struct{})
	go r.read(pipe, first)
	tb.Cleanup(r.end)
	select {
	case <-first:
	case <-r.done:
		tb.Fatalf("the recording ended at once: %s", r.said.String())
	case <-time.After(10 * time.Second):
		tb.Fatalf("the recording does not begin")
	}
	return r
}

func (r *recording) read(pipe io.Reader, first chan struct{}) {
	defer close(r.done)
	buf := make([]byte, 1<<16)
	var have int
	for {
		n, err := pipe.Read(buf[have:])
		now := time.Now()
		have += n
		r.mu.Lock()
		begun := len(r.sides[0]) > 0
		whole := have / 8 * 8
		for i := 0; i < whole; i += 8 {
			for ch := range r.sides {
				v := math.Float32frombits(binary.LittleEndian.Uint32(buf[i+4*ch:]))
				r.sides[ch] = append(r.sides[ch], v)
			}
		}
		r.arrived = append(r.arrived, arrival{len(r.sides[0]), now})
		if !begun && whole > 0 {
			close(first)
		}
		r.mu.Unlock()
		have = copy(buf, buf[whole:have])
		if err != nil {
			return
		}
	}
}

func (r *recording) end() {
	select {
	case <-r.done:
	default:
		r.cmd.Process.Kill()
		<-r.done
	}
	r.cmd.Wait()
}

// stop ends the recording and returns its two sides.
func (r *recording) stop() [2][]float32 {
	r.end()
	return r.sides
}

// cameAt returns when a frame had come in, of a recording that was stopped.
func (r *recording) cameAt(frame int) time.Time {
	for _, a := range r.arrived {
		if a.frames > frame {
			return a.at
		}
	}
	return time.Now()
}

// frameAt returns how many frames had come in at a time, of a recording that
// was stopped.
func (r *recording) frameAt(t time.Time) (frame int) {
	for _, a := range r.arrived {
		if a.at.After(t) {
			break
		}
		frame = a.frames
	}
	return frame
}

// save writes a part of a stopped recording, frames from up to to, as a WAV
// file and returns its path.
func (r *recording) save(from, to int) string {
	r.tb.Helper()
	path := filepath.Join(r.tb.TempDir(), fmt.Sprintf("heard-%d-%d.wav", from, to))
	w, err := wavfile.Create(path, wavfile.Format{SampleRate: 48000, Channels: 2, Bits: 32, Float: true})
	if err == nil {
		if err = w.Write([][]float32{r.sides[0][from:to], r.sides[1][from:to]}); err == nil {
			err = w.Close()
		}
	}
	if err != nil {
		r.tb.Fatalf("%v", err)
	}
	return path
}
