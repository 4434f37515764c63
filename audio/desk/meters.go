package desk

import (
	"cmp"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// meters are those of the bus or of a channel. Where both sides are the same one is
// metered for both.
type meters struct {
	sides []side
	lamp  *meter.Lamp
}

// side is the metering of one side.
type side struct {
	needle    *meter.Needle
	programme *meter.Programme // nil of a channel
	peak      meter.SamplePeak // since the snapshot before
	clipped   int64
}

func newMeters(sides int, lampDBFS, lampHold float64) *meters {
	b := &meters{
		sides: make([]side, sides),
		lamp:  meter.NewLamp(audio.Rate, lampDBFS, cmp.Or(lampHold, meter.LampHold)),
	}
	for i := range b.sides {
		b.sides[i].needle = meter.NewNeedle(audio.Rate)
	}
	return b
}

// process meters samples.
func (b *meters) process(l, r []float32) {
	both := [2][]float32{l, r}
	for i := range b.sides {
		s, x := &b.sides[i], both[i]
		s.needle.Process(x)
		if s.programme != nil {
			s.programme.Process(x)
		}
		s.peak.Process(x)
		if s.peak.Level() >= 0 {
			s.clipped += clips(x)
		}
	}
	b.lamp.Process(both[:len(b.sides)]...)
}

// read fills in what the meters show and starts a new peak.
func (b *meters) read(s *Snapshot) {
	for i := range 2 {
		m := &b.sides[min(i, len(b.sides)-1)]
		s.NeedleDBFS[i] = m.needle.Level()
		if m.programme != nil {
			s.PPMDBFS[i] = m.programme.Level()
		}
		s.PeakDBFS[i] = m.peak.Level()
		s.Clipped = max(s.Clipped, m.clipped)
	}
	for i := range b.sides {
		b.sides[i].peak.Reset()
	}
	s.Lit, s.Flicks = b.lamp.Lit(), b.lamp.Flicks()
}

// channel returns what meters of a channel show, of two sides the higher, and starts a
// new peak.
func (b *meters) channel() ChannelSnapshot {
	var s Snapshot
	b.read(&s)
	return ChannelSnapshot{NeedleDBFS: max(s.NeedleDBFS[0], s.NeedleDBFS[1]), PeakDBFS: max(s.PeakDBFS[0], s.PeakDBFS[1]), Lit: s.Lit}
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
