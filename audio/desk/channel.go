package desk

import (
	"math"
	"math/rand/v2"
	"sort"
	"sync/atomic"

	"slowneedle/audio"
)

// channel is one input of a running desk.
type channel struct {
	sound [][]float32
	phase int // of the loop at the start of the next block

	start float64 // gain ahead of the fader
	curve []GainPoint

	want  atomic.Int64 // asked-for fader position, tenths of a dB
	at    int64        // position in effect
	fader ramp         // its gain

	level float32 // whole gain at the end of the block before
	side  [2][block]float32
	heard ramp // weight in the monitor

	meters *meters // its own

	low, high float64 // the fader's travel, dB
	before    *channel
	stage     *stage // nil for a channel with a sound
}

// newChannel makes a channel behind the one before it, if there is any.
func newChannel(c *Channel, before *channel, lampHold float64, noise *rand.PCG) *channel {
	lamp := math.Inf(1) // a stage alone has one
	s := &channel{
		start: audio.Gain(c.StartGainDB),
		curve: c.GainCurve,
		low:   FaderMin,
		high:  FaderMax,
	}
	if c.Stage != nil {
		s.before, s.sound = before, before.sound
		s.low, s.high = c.Stage.Min, c.Stage.Max
		s.stage, lamp = newStage(c.Stage, noise), c.Stage.LampDBFS
	} else {
		s.sound = c.Sound.Channels
	}
	s.at = tenths(c.FaderDB, s.low, s.high)
	s.want.Store(s.at)
	s.fader.jump(faderGain(s.at))
	s.level = s.gain(0, s.fader.now)
	s.meters = newMeters(len(s.sound), lamp, lampHold)
	return s
}

// faderGain is the gain of a fader position in tenths of a dB.
func faderGain(tenths int64) float32 { return float32(audio.Gain(float64(tenths) / 10)) }

// gain is the whole gain at a position.
func (s *channel) gain(at int64, fader float32) float32 {
	g := s.start * float64(fader)
	if len(s.curve) > 0 {
		g *= audio.Gain(curveAt(s.curve, at))
	}
	return float32(g)
}

// next fills side with the block that starts at a position and returns the
// two sides; of a sound of one channel they are one and the same.
func (s *channel) next(at int64) (l, r []float32) {
	from := s.level
	_, fader := s.fader.next()
	to := s.gain(at+block, fader)
	s.level = to

	n := len(s.sound[0])
	for ch, x := range s.sound {
		out := s.side[ch][:]
		if s.stage != nil {
			s.stage.pass(out, s.before.side[ch][:], from, to)
			continue
		}
		turn(out, x, s.phase)
		scale(out, out, from, to)
	}
	s.phase = (s.phase + block) % n
	l = s.side[0][:]
	if len(s.sound) == 2 {
		return l, s.side[1][:]
	}
	return l, l
}

// turn fills out with a loop from a phase on.
func turn(out, loop []float32, phase int) {
	for ; len(out) > 0; phase = 0 {
		out = out[copy(out, loop[phase:]):]
	}
}

// curveAt returns the gain in dB that a curve of at least one point has at a position.
func curveAt(p []GainPoint, pos int64) float64 {
	next := sort.Search(len(p), func(i int) bool { return p[i].At > pos })
	switch next {
	case 0:
		return p[0].DB
	case len(p):
		return p[next-1].DB
	}
	a, b := p[next-1], p[next]
	return a.DB + float64((b.DB-a.DB)*float64(pos-a.At)/float64(b.At-a.At))
}
