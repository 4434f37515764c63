// Package listen is what is made of sound while it comes in: needle, lamp and
// peaks, whether it clips, and its last seconds, which are kept in memory and
// nowhere else. It knows no device.
package listen

import (
	"sync"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/meter"
)

const (
	every     = 480    // frames between two snapshots, 10 ms
	waiting   = 1024   // snapshots that wait to be taken at most
	fullScale = 0.9995 // of a converter: 16 bits end at 0.99997
	clipRun   = 3      // samples in a row at full scale: one alone may be a peak that just fits
)

// Ear meters what comes in, at audio.Rate in two channels. Its methods may be
// called from any goroutine, Take from one at a time.
type Ear struct {
	mu    sync.Mutex
	sides [2]side
	lamp  *meter.Lamp
	hold  float64
	count int64
	snaps []desk.Snapshot
}

// side is one channel.
type side struct {
	needle  *meter.Needle
	peak    meter.SamplePeak // since the snapshot before
	ring    []float32
	run     int // samples at full scale in a row
	clipped int64
}

// New returns an ear that keeps so many of the last seconds, more than 0. Its lamp
// lights at a level in dBFS, that of a sine, and holds for so many seconds.
func New(seconds, lampDBFS, hold float64) *Ear {
	e := &Ear{hold: hold}
	for ch := range e.sides {
		e.sides[ch] = side{needle: meter.NewNeedle(audio.Rate), ring: make([]float32, int(seconds*audio.Rate))}
	}
	e.SetLamp(lampDBFS)
	return e
}

// SetLamp sets the level in dBFS at which the lamp lights.
func (e *Ear) SetLamp(dbfs float64) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.lamp = meter.NewLamp(audio.Rate, dbfs, e.hold)
}

// Take takes samples in, both channels equally long.
func (e *Ear) Take(block [2][]float32) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for l, r := block[0], block[1]; len(l) > 0; {
		n := min(len(l), int(every-e.count%every))
		e.lamp.Process(l[:n], r[:n])
		e.sides[0].take(l[:n], e.count)
		e.sides[1].take(r[:n], e.count)
		e.count += int64(n)
		l, r = l[n:], r[n:]
		if e.count%every == 0 {
			e.snapshot()
		}
	}
}

// take takes samples of one side in, the first of which is number at.
func (s *side) take(x []float32, at int64) {
	s.needle.Process(x)
	s.peak.Process(x)
	for _, v := range x {
		if !(v >= fullScale || v <= -fullScale) { // what is no number included
			s.run = 0
			continue
		}
		if s.run++; s.run == clipRun {
			s.clipped += clipRun
		} else if s.run > clipRun {
			s.clipped++
		}
	}
	for len(x) > 0 {
		n := copy(s.ring[at%int64(len(s.ring)):], x)
		x, at = x[n:], at+int64(n)
	}
}

func (e *Ear) snapshot() {
	s := desk.Snapshot{At: e.count, Lit: e.lamp.Lit(), Flicks: e.lamp.Flicks(), Clipped: e.mostClipped()}
	for ch := range e.sides {
		side := &e.sides[ch]
		s.NeedleDBFS[ch], s.PeakDBFS[ch] = side.needle.Level(), side.peak.Level()
		side.peak.Reset()
	}
	if len(e.snaps) == waiting {
		e.snaps = append(e.snaps[:0], e.snaps[waiting/2:]...)
	}
	e.snaps = append(e.snaps, s)
}

// Snapshots returns what the meters have shown since the last call, a hundred a
// second, the last ten seconds at most.
func (e *Ear) Snapshots() []desk.Snapshot {
	e.mu.Lock()
	defer e.mu.Unlock()
	all := e.snaps
	e.snaps = nil
	return all
}

// Count is how many frames have come in.
func (e *Ear) Count() int64 {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.count
}

// Clipped is how many samples have come in at full scale, three or more in a row,
// of the channel that has more.
func (e *Ear) Clipped() int64 {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.mostClipped()
}

func (e *Ear) mostClipped() int64 { return max(e.sides[0].clipped, e.sides[1].clipped) }

// Span returns the frames from one number up to another. Those that have not come
// in, or are no longer kept, are silent.
func (e *Ear) Span(from, to int64) [][]float32 {
	x := [][]float32{make([]float32, to-from), make([]float32, to-from)} // what comes in need not wait for it
	e.mu.Lock()
	defer e.mu.Unlock()
	size := int64(len(e.sides[0].ring))
	for ch := range x {
		for at, end := max(from, 0, e.count-size), min(to, e.count); at < end; {
			at += int64(copy(x[ch][at-from:end-from], e.sides[ch].ring[at%size:]))
		}
	}
	return x
}
