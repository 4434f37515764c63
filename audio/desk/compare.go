package desk

import (
	"cmp"
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
	loops  [2][2][]float32
	phase  int
	made   int64
	out    [2 * chunk]float32
	side   [2][2][chunk]float32
	unread int
	pulled atomic.Int64

	wantMonitor, wantLoop atomic.Uint64
	atMonitor             uint64
	monitor, second       glide // second is the weight of loop 1
}

// NewCompare takes two loops of equal length, two sides each, and the monitor
// level in dB (0 means MonitorStart). Where lengths differ the shortest
// counts; loops without samples are silence. Loop 0 is heard first.
func NewCompare(a, b [2][]float32, monitorDB float64) *Compare {
	n := min(len(a[0]), len(a[1]), len(b[0]), len(b[1]))
	if n == 0 {
		silence := make([]float32, chunk)
		a = [2][]float32{silence, silence}
		b, n = a, chunk
	}
	c := &Compare{}
	for ch := range 2 {
		c.loops[0][ch] = a[ch][:n]
		c.loops[1][ch] = b[ch][:n]
	}
	c.SetMonitor(cmp.Or(monitorDB, MonitorStart))
	c.atMonitor = c.wantMonitor.Load()
	c.monitor.jump(monitorGain(math.Float64frombits(c.atMonitor)))
	return c
}

// Switch chooses which of the two is heard: 0 or 1.
func (c *Compare) Switch(to int) { c.wantLoop.Store(uint64(to & 1)) }

// Heard returns which of the two was asked for: 0 or 1.
func (c *Compare) Heard() int { return int(c.wantLoop.Load()) }

// SetMonitor sets the monitor control, MonitorMin (off) to MonitorMax.
func (c *Compare) SetMonitor(db float64) {
	c.wantMonitor.Store(math.Float64bits(monitorLevel(db)))
}

// Position returns the frames pulled so far.
func (c *Compare) Position() int64 { return c.pulled.Load() }

// Pull fills out with interleaved stereo: the next len(out)/2 frames.
func (c *Compare) Pull(out []float32) {
	n := int64(len(out) / 2)
	for len(out) > 0 {
		if c.unread == 0 {
			c.next()
			c.unread = len(c.out)
		}
		k := copy(out, c.out[len(c.out)-c.unread:])
		c.unread -= k
		out = out[k:]
	}
	c.pulled.Add(n)
}

// next computes one chunk.
func (c *Compare) next() {
	if want := c.wantMonitor.Load(); want != c.atMonitor {
		c.atMonitor = want
		c.monitor.set(monitorGain(math.Float64frombits(want)))
	}
	c.second.set(float32(c.wantLoop.Load()))

	for i := range c.loops {
		for ch := range 2 {
			out := c.side[i][ch][:]
			for phase := c.phase; len(out) > 0; phase = 0 {
				out = out[copy(out, c.loops[i][ch][phase:]):]
			}
		}
	}
	c.phase = (c.phase + chunk) % len(c.loops[0][0])

	from, to := c.monitor.next()
	from *= fadeIn(c.made)
	to *= fadeIn(c.made + chunk)
	step := (to - from) / chunk
	wFrom, wTo := c.second.next()
	wStep := (wTo - wFrom) / chunk
	for i := range chunk {
		g := from + step*float32(i)
		w := wFrom + wStep*float32(i)
		for ch := range 2 {
			a, b := c.side[0][ch][i], c.side[1][ch][i]
			out := a
			if w != 0 {
				out = a*(1-w) + b*w
			}
			c.out[2*i+ch] = ceil(fullScale(out) * g)
		}
	}
	c.made += chunk
}

// Match returns the gain in dB that brings a take to the loudness of another
// recording, by the integrated loudness of ITU-R BS.1770-5 of both; 0 if
// either is too short or too quiet to have one.
func Match(take, aim [2][]float32) (gainDB float64) {
	gainDB = loudness(aim) - loudness(take)
	if math.IsNaN(gainDB) || math.IsInf(gainDB, 0) {
		return 0
	}
	return gainDB
}

// loudness is the integrated loudness in LUFS; -Inf or not a number if there
// is none.
func loudness(x [2][]float32) float64 {
	m, err := meter.NewLoudness(audio.Rate, 2)
	if err != nil {
		return math.Inf(-1)
	}
	n := min(len(x[0]), len(x[1]))
	m.Process(x[0][:n], x[1][:n])
	return m.Integrated()
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
