package drills

import (
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

// Zone is how a lamp behaves on a source at one setting, by the most flicks in
// any three seconds of the repeating loop.
type Zone string

// The zones, from low to high (common practice on tape).
const (
	ZoneDark    Zone = "dark"    // no flick: the take sits in the noise
	ZoneSparing Zone = "sparing" // up to one a second: right
	ZoneBusy    Zone = "busy"    // up to 1.5 a second: usable
	ZoneLit     Zone = "lit"     // more, or on for over half of any three seconds: spoiled
)

// zoneSeconds is the stretch over which flicks are counted.
const zoneSeconds = 3

// lampHold is how long the lamp stays lit after the last sample that reached
// its threshold, in seconds.
const lampHold = 0.15

// lampStep is the step in which settings above the first light are tried.
const lampStep = 0.1

// lampState is what the lamp does over the repeating loop at one setting.
type lampState struct {
	flicks int     // the most in any three seconds
	share  float64 // the greatest part of any three seconds that it is lit
}

func (s lampState) rate() float64 { return float64(s.flicks) / zoneSeconds }

func (s lampState) zone() Zone {
	switch {
	case s.share > 0.5:
		return ZoneLit
	case s.flicks == 0:
		return ZoneDark
	case s.rate() <= 1:
		return ZoneSparing
	case s.rate() <= 1.5:
		return ZoneBusy
	}
	return ZoneLit
}

// hit is a sample within reach of the lamp: where it is and its level in dB
// below the loop's highest.
type hit struct {
	at   int
	down float64
}

// lampBook answers what the lamp does on a sound at any setting.
type lampBook struct {
	frames int
	peak   float64 // highest magnitude
	reach  float64 // hits are complete down to this many dB below the peak
	hits   []hit   // in order of time
	sound  *source.Sound
}

func newLampBook(s *source.Sound) *lampBook {
	b := &lampBook{frames: s.Len(), peak: peakOf(s), sound: s}
	b.extend(6)
	return b
}

// extend makes the hits complete down to a distance below the peak.
func (b *lampBook) extend(reach float64) {
	b.reach, b.hits = reach, b.hits[:0]
	floor := float32(b.peak * audio.Gain(-reach))
	left := b.sound.Channels[0]
	right := b.sound.Channels[len(b.sound.Channels)-1]
	for i, x := range left {
		m := max(x, -x, right[i], -right[i])
		if m >= floor && m > 0 {
			b.hits = append(b.hits, hit{i, audio.DB(b.peak) - audio.DB(float64(m))})
		}
	}
}

// at returns the lamp's state when the loop's highest peak stands over dB above
// the threshold.
func (b *lampBook) at(over float64) lampState {
	if over < 0 || b.peak == 0 {
		return lampState{}
	}
	for over > b.reach {
		b.extend(b.reach + 6)
	}
	hold := int(math.Round(lampHold * audio.Rate))
	var first, prev int
	var starts, ends []int // of the times it is lit, in order
	found := false
	for _, h := range b.hits {
		if h.down > over {
			continue
		}
		switch {
		case !found:
			found, first = true, h.at
			starts = append(starts, h.at)
		case h.at-prev > hold:
			ends = append(ends, prev+hold)
			starts = append(starts, h.at)
		}
		prev = h.at
	}
	if !found {
		return lampState{}
	}
	ends = append(ends, prev+hold)
	if first+b.frames-prev <= hold { // the last light runs into the first
		if len(starts) == 1 {
			return lampState{share: 1}
		}
		starts[0] = starts[len(starts)-1] - b.frames
		starts, ends = starts[:len(starts)-1], ends[:len(ends)-1]
	}
	return b.count(starts, ends)
}

// count finds the busiest three seconds of a loop lit between starts and ends.
// The busiest begin where the lamp lights, or end where it goes out.
func (b *lampBook) count(starts, ends []int) lampState {
	const span = zoneSeconds * audio.Rate
	turns := span/b.frames + 2
	var on, off []int
	for turn := range turns + 1 {
		for i := range starts {
			on = append(on, starts[i]+turn*b.frames)
			off = append(off, ends[i]+turn*b.frames)
		}
	}
	var s lampState
	measure := func(from int) {
		flicks, lit := 0, 0
		i, _ := slices.BinarySearch(off, from+1)
		for ; i < len(on) && on[i] < from+span; i++ {
			if on[i] >= from {
				flicks++
			}
			lit += min(off[i], from+span) - max(on[i], from)
		}
		s.flicks = max(s.flicks, flicks)
		s.share = max(s.share, float64(lit)/span)
	}
	for i := range starts {
		measure(starts[i])
		measure(ends[i] + (turns-1)*b.frames - span)
	}
	return s
}

// lampRange says, going up from dark in steps of 0.1 dB above the setting at
// which the loop's highest peak just reaches the threshold, how far above it
// the lamp is still sparing, and how far it is still usable (before it is lit).
// ok is false if the lamp goes from dark straight to busy or lit; then usable
// is 0 or the last busy step.
func (b *lampBook) lampRange() (sparing, usable float64, ok bool) {
	still := true
	for k := 1; k <= 400; k++ {
		over := float64(k) * lampStep
		switch b.at(over).zone() {
		case ZoneLit:
			return sparing, usable, ok
		case ZoneBusy:
			still = false
		case ZoneDark, ZoneSparing:
			if still {
				sparing, ok = over, true
			}
		}
		usable = over
	}
	return sparing, usable, ok
}

// peakOf returns the highest magnitude of a sound.
func peakOf(s *source.Sound) float64 {
	var m float32
	for _, ch := range s.Channels {
		for _, x := range ch {
			m = max(m, x, -x)
		}
	}
	return float64(m)
}
