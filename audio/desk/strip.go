package desk

import (
	"math"
	"sync/atomic"

	"slowneedle/audio"
)

// strip is one channel at work.
type strip struct {
	sound [][]float32
	phase int // of the loop at the start of the next chunk

	start float64 // gain ahead of the fader
	curve curve

	want  atomic.Int64 // asked-for fader position, tenths of a dB
	at    int64        // position in effect
	fader glide        // its gain

	level float32 // whole gain at the end of the chunk before
	side  [2][chunk]float32
	heard glide // weight in the monitor

	meter needles
	peak  float32 // since the snapshot before
}

func newStrip(c *Channel, meters bool) *strip {
	s := &strip{
		sound: c.Sound.Channels,
		start: audio.Gain(c.StartGainDB),
		curve: curve{points: c.GainCurve, loop: c.CurveLoop},
		at:    tenths(c.FaderDB),
	}
	s.want.Store(s.at)
	s.fader.jump(faderGain(s.at))
	s.level = s.gain(0, s.fader.now)
	if meters {
		s.meter = newNeedles(len(s.sound))
	}
	return s
}

// faderGain is the gain of a fader position in tenths of a dB.
func faderGain(tenths int64) float32 { return float32(audio.Gain(float64(tenths) / 10)) }

// gain is the whole gain at a position.
func (s *strip) gain(at int64, fader float32) float32 {
	g := s.start * float64(fader)
	if len(s.curve.points) > 0 {
		g *= audio.Gain(s.curve.at(at))
	}
	return float32(g)
}

// next fills side with the chunk that starts at a position and returns the
// two sides; of a sound of one channel they are one and the same.
func (s *strip) next(at int64) (l, r []float32) {
	from := s.level
	_, fader := s.fader.next()
	to := s.gain(at+chunk, fader)
	s.level = to

	n := len(s.sound[0])
	for ch, x := range s.sound {
		out := s.side[ch][:]
		for phase := s.phase; len(out) > 0; phase = 0 {
			k := copy(out, x[phase:])
			out = out[k:]
		}
		out = s.side[ch][:]
		scale(out, out, from, to)
	}
	s.phase = (s.phase + chunk) % n
	l = s.side[0][:]
	if len(s.sound) == 2 {
		return l, s.side[1][:]
	}
	return l, l
}

// curve is a gain that changes with the position, evaluated forwards.
type curve struct {
	points []GainPoint
	loop   int64
	next   int // first point beyond the position asked for last
}

// at returns the gain in dB.
func (c *curve) at(pos int64) float64 {
	p := c.points
	if len(p) == 0 {
		return 0
	}
	if c.loop > 0 {
		pos %= c.loop
	}
	if c.next > 0 && p[c.next-1].At > pos {
		c.next = 0 // the curve started again
	}
	for c.next < len(p) && p[c.next].At <= pos {
		c.next++
	}
	switch c.next {
	case 0:
		return p[0].DB
	case len(p):
		return p[len(p)-1].DB
	}
	a, b := p[c.next-1], p[c.next]
	return a.DB + (b.DB-a.DB)*float64(pos-a.At)/float64(b.At-a.At)
}

// peakOf returns the highest magnitude in x, or the highest so far if that is
// higher.
func peakOf(x []float32, sofar float32) float32 {
	// Magnitudes order as the bits below the sign do.
	high := math.Float32bits(sofar)
	for _, v := range x {
		high = max(high, math.Float32bits(v)&^(1<<31))
	}
	return math.Float32frombits(high)
}

// clips counts the samples at or beyond full scale.
func clips(x []float32) (n int64) {
	for _, v := range x {
		if v >= 1 || v <= -1 {
			n++
		}
	}
	return n
}
