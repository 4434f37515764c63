package desk

import (
	"cmp"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// bus is the metering of the two bus channels. Where every sound has one
// channel both sides are the same and one is metered for both.
type bus struct {
	sides     int
	needle    [2]*meter.Needle
	programme [2]*meter.Programme
	truePeak  [2]*meter.TruePeak
	loudness  *meter.Loudness
	lamp      *meter.Lamp
	peak      [2]float32 // since the snapshot before
	clipped   [2]int64
}

// lampHold is how long the lamp stays lit if nothing else is asked for.
const lampHold = 0.15

func newBus(c *Config, mono bool) (*bus, error) {
	b := &bus{sides: 2}
	if mono {
		b.sides = 1
	}
	b.lamp = meter.NewLamp(audio.Rate, c.LampDBFS, cmp.Or(c.LampHold, lampHold))
	meters := cmp.Or(c.Meters, MeterNeedle|MeterProgramme)
	for i := range b.sides {
		if meters&MeterNeedle != 0 {
			b.needle[i] = meter.NewNeedle(audio.Rate)
		}
		if meters&MeterProgramme != 0 {
			b.programme[i] = meter.NewProgramme(audio.Rate)
		}
		if meters&MeterTruePeak != 0 {
			b.truePeak[i] = meter.NewTruePeak(audio.Rate)
		}
	}
	if meters&MeterLoudness != 0 {
		var err error
		if b.loudness, err = meter.NewLoudness(audio.Rate, 2); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// process reads a piece of the bus.
func (b *bus) process(l, r []float32) {
	side := [2][]float32{l, r}
	for i, x := range side[:b.sides] {
		if b.needle[i] != nil {
			b.needle[i].Process(x)
		}
		if b.programme[i] != nil {
			b.programme[i].Process(x)
		}
		if b.truePeak[i] != nil {
			b.truePeak[i].Process(x)
		}
		high := peakOf(x, 0)
		if high >= 1 {
			b.clipped[i] += clips(x)
		}
		b.peak[i] = max(b.peak[i], high)
	}
	b.lamp.Process(side[:b.sides]...)
	if b.loudness != nil {
		b.loudness.Process(l, r)
	}
}

// read fills in what the meters show and starts a new peak.
func (b *bus) read(s *Snapshot) {
	low := math.Inf(-1)
	s.NeedleDBFS = [2]float64{low, low}
	s.PPMDBFS, s.TruePeakDBTP = s.NeedleDBFS, s.NeedleDBFS
	for i := range 2 {
		k := min(i, b.sides-1)
		if b.needle[k] != nil {
			s.NeedleDBFS[i] = b.needle[k].Level()
		}
		if b.programme[k] != nil {
			s.PPMDBFS[i] = b.programme[k].Level()
		}
		if b.truePeak[k] != nil {
			s.TruePeakDBTP[i] = b.truePeak[k].Level()
		}
		s.PeakDBFS[i] = audio.DB(float64(b.peak[k]))
		s.Clipped = max(s.Clipped, b.clipped[k])
	}
	b.peak = [2]float32{}
	s.MomentaryLUFS = low
	if b.loudness != nil {
		s.MomentaryLUFS = b.loudness.Momentary()
	}
	s.Lit, s.Flicks = b.lamp.Lit(), b.lamp.Flicks()
}

// needles are those of one channel of the desk.
type needles []*meter.Needle

func newNeedles(n int) needles {
	var all needles
	for range n {
		all = append(all, meter.NewNeedle(audio.Rate))
	}
	return all
}

// level is the highest of them, in dBFS.
func (n needles) level() float64 {
	level := math.Inf(-1)
	for _, m := range n {
		level = max(level, m.Level())
	}
	return level
}
