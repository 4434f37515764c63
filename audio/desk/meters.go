package desk

import (
	"cmp"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// bus is the metering of the two bus channels. Where every sound has one
// channel both sides are the same and one is metered for both.
type bus struct {
	sides []side
	lamp  *meter.Lamp
}

// side is the metering of one bus channel.
type side struct {
	needle    *meter.Needle
	programme *meter.Programme
	peak      meter.SamplePeak // since the snapshot before
	clipped   int64
}

func newBus(c *Config, mono bool) *bus {
	b := &bus{
		sides: make([]side, 2),
		lamp:  meter.NewLamp(audio.Rate, c.LampDBFS, cmp.Or(c.LampHold, meter.LampHold)),
	}
	if mono {
		b.sides = b.sides[:1]
	}
	for i := range b.sides {
		b.sides[i].needle = meter.NewNeedle(audio.Rate)
		b.sides[i].programme = meter.NewProgramme(audio.Rate)
	}
	return b
}

// process meters samples of the bus.
func (b *bus) process(l, r []float32) {
	bus := [2][]float32{l, r}
	for i := range b.sides {
		s, x := &b.sides[i], bus[i]
		s.needle.Process(x)
		s.programme.Process(x)
		s.peak.Process(x)
		if s.peak.Level() >= 0 {
			s.clipped += clips(x)
		}
	}
	b.lamp.Process(bus[:len(b.sides)]...)
}

// read fills in what the meters show and starts a new peak.
func (b *bus) read(s *Snapshot) {
	for i := range 2 {
		m := &b.sides[min(i, len(b.sides)-1)]
		s.NeedleDBFS[i] = m.needle.Level()
		s.PPMDBFS[i] = m.programme.Level()
		s.PeakDBFS[i] = m.peak.Level()
		s.Clipped = max(s.Clipped, m.clipped)
	}
	for i := range b.sides {
		b.sides[i].peak.Reset()
	}
	s.Lit, s.Flicks = b.lamp.Lit(), b.lamp.Flicks()
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
