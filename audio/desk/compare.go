package desk

import (
	"math"
	"sync/atomic"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// Compare plays two finished loops at one monitor level and switches between
// them without a gap. NewCompare makes it.
//
// Both loops run all the time. A switch crossfades in a straight line over
// 16 ms: the loops are two recordings of the same sound and in step, so
// amplitudes add and a straight line keeps the level. Every start fades in
// over half a second; nothing that leaves exceeds Ceiling, nor full scale turned
// down by the monitor control.
//
// Pull belongs to one goroutine at a time and does not allocate; the other
// methods may be called from any.
type Compare struct {
	outlet
	loops  [2][2][]float32
	phase  int
	side   [2][2][block]float32
	mix    [2][block]float32
	wanted atomic.Int32 // loop 0 or 1
	second ramp         // weight of loop 1
}

// NewCompare takes two loops of equal length, two sides each, and the monitor
// level in dB (0 means MonitorStart). Where lengths differ the shortest
// counts; loops without samples are silence. Loop 0 is heard first.
func NewCompare(a, b [2][]float32, monitorDB float64) *Compare {
	n := min(len(a[0]), len(a[1]), len(b[0]), len(b[1]))
	if n == 0 {
		silence := make([]float32, block)
		a = [2][]float32{silence, silence}
		b, n = a, block
	}
	c := &Compare{}
	for ch := range 2 {
		c.loops[0][ch] = a[ch][:n]
		c.loops[1][ch] = b[ch][:n]
	}
	c.start(monitorDB)
	return c
}

// Switch chooses which of the two is heard: 0 or 1.
func (c *Compare) Switch(to int) { c.wanted.Store(int32(to & 1)) }

// Heard returns which of the two was asked for: 0 or 1.
func (c *Compare) Heard() int { return int(c.wanted.Load()) }

// Frames returns the length of the loops.
func (c *Compare) Frames() int { return len(c.loops[0][0]) }

// Pull fills out with interleaved stereo: the next len(out)/2 frames.
func (c *Compare) Pull(out []float32) { c.pull(out, c.next) }

// next computes one block.
func (c *Compare) next() {
	c.second.set(float32(c.wanted.Load()))

	for i := range c.loops {
		for ch := range 2 {
			turn(c.side[i][ch][:], c.loops[i][ch], c.phase)
		}
	}
	c.phase = (c.phase + block) % len(c.loops[0][0])

	from, to := c.second.next()
	for ch := range c.mix {
		c.mix[ch] = c.side[0][ch]
		if from != 0 || to != 0 {
			scale(c.mix[ch][:], c.mix[ch][:], 1-from, 1-to)
			add(c.mix[ch][:], c.side[1][ch][:], from, to)
		}
	}
	c.send(&c.mix[0], &c.mix[1], c.made)
	c.made += block
}

// Match returns the gain in dB that brings a take to the loudness of another
// recording, by the integrated loudness of ITU-R BS.1770-5 of both; 0 if
// either is too short or too quiet to have one.
func Match(take, aim [2][]float32) (gainDB float64) {
	gainDB = meter.IntegratedLoudness(audio.Rate, aim[:]...) - meter.IntegratedLoudness(audio.Rate, take[:]...)
	if math.IsNaN(gainDB) || math.IsInf(gainDB, 0) {
		return 0
	}
	return gainDB
}

// Amplify returns a recording at another level.
func Amplify(x [2][]float32, gainDB float64) (out [2][]float32) {
	g := float32(audio.Gain(gainDB))
	for ch := range x {
		out[ch] = make([]float32, len(x[ch]))
		for i, v := range x[ch] {
			out[ch][i] = v * g
		}
	}
	return out
}
