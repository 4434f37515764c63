package drills

import (
	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
)

// Zone is how a lamp behaves on a source at one setting, by the most flicks in
// any three seconds of the repeating loop and by how much of any three seconds
// it is lit.
type Zone string

// The zones, from low to high (our reading of common practice on tape).
const (
	ZoneDark    Zone = "dark"    // no flick: the take sits in the noise
	ZoneSparing Zone = "sparing" // up to one a second: right
	ZoneBusy    Zone = "busy"    // up to 1.5 a second: usable
	ZoneLit     Zone = "lit"     // more, or on for over half of any three seconds: badly distorted
)

// busyRate is the most flicks a second of a lamp that is busy, not lit.
const busyRate = 1.5

// CountSeconds is the stretch in seconds over which a lamp's flicks are counted.
const CountSeconds = 3

// lampHold is how long the lamp stays lit after the last sample that reached
// its threshold, in seconds.
const lampHold = meter.LampHold

// lampStep is the step in which settings above the first light are tried.
const lampStep = 0.1

// lampState is what the lamp does over the repeating loop at one setting.
type lampState struct {
	flicks int     // the most in any three seconds
	share  float64 // the most of any three seconds that it is lit
}

func (s lampState) rate() float64 { return float64(s.flicks) / CountSeconds }

func (s lampState) zone() Zone {
	switch {
	case s.share > 0.5:
		return ZoneLit
	case s.flicks == 0:
		return ZoneDark
	case s.rate() <= 1:
		return ZoneSparing
	case s.rate() <= busyRate:
		return ZoneBusy
	}
	return ZoneLit
}

// lampProfile is what the lamp does on a sound at every setting.
type lampProfile struct {
	lamp *meter.LampMap
	peak float64 // sample peak, dBFS
	span float64 // dB above the first flash up to which it is sparing; 0: never
}

func newLampProfile(s *source.Sound, peak float64) *lampProfile {
	p := &lampProfile{lamp: meter.NewLampMap(audio.Rate, lampHold, s.Channels...), peak: peak}
	for k := 1; k <= 400; k++ {
		over := float64(k) * lampStep
		if p.at(over).zone() != ZoneSparing {
			break
		}
		p.span = over
	}
	return p
}

// at returns the lamp's state when the loop's highest peak stands over dB above
// the threshold.
func (p *lampProfile) at(over float64) lampState {
	if over < 0 {
		return lampState{}
	}
	c := p.lamp.At(p.peak - over)
	return lampState{flicks: c.Busiest, share: c.LitMost}
}

// aim returns where the lamp should be, in dB above the setting at which the
// loop's highest peak just reaches the threshold: half of the span over which it
// is sparing, at most lampTolerance. A sound that goes from dark to lit without
// flashing sparingly, as a steady tone does, stays 0.1 dB below the threshold.
func (p *lampProfile) aim() float64 {
	if p.span == 0 {
		return -lampStep
	}
	return min(p.span/2, lampTolerance)
}
