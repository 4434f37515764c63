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

// hit is a sample that can be the first or the last of its block to reach some
// threshold.
type hit struct {
	at        int
	magnitude uint32 // bits of the sample's magnitude: they sort as it does
}

// lampBook answers what the lamp does on a sound at any setting, exactly.
//
// Within a block shorter than the hold only the first and the last sample that
// reach the threshold matter. Whatever the threshold, these are among the
// samples higher than all before them in the block, and those higher than all
// after: a few in a thousand.
type lampBook struct {
	frames int
	peak   float64 // highest magnitude
	hits   []hit   // in order of time
}

// lampBlock is a block's length in frames, shorter than the hold.
const lampBlock = audio.Rate / 20

const magnitudeBits = 1<<31 - 1

func newLampBook(s *source.Sound) *lampBook {
	b := &lampBook{frames: s.Len(), hits: make([]hit, 0, 1<<13)}
	left := s.Channels[0]
	right := s.Channels[len(s.Channels)-1]
	var peak uint32
	after := make([]hit, 0, 64)
	for from := 0; from < len(left); from += lampBlock {
		to := min(from+lampBlock, len(left))
		var top uint32
		for i := from; i < to; i++ {
			if m := magnitude(left[i], right[i]); m > top {
				top = m
				b.hits = append(b.hits, hit{i, m})
			}
		}
		if top == 0 {
			continue
		}
		first := b.hits[len(b.hits)-1].at // that reaches the top
		after = after[:0]
		var below uint32
		for i := to - 1; i > first && below < top; i-- {
			if m := magnitude(left[i], right[i]); m > below {
				below = m
				after = append(after, hit{i, m})
			}
		}
		slices.Reverse(after)
		b.hits = append(b.hits, after...)
		peak = max(peak, top)
	}
	b.peak = float64(math.Float32frombits(peak))
	return b
}

// magnitude returns the bits of the higher magnitude of two samples.
func magnitude(l, r float32) uint32 {
	return max(math.Float32bits(l)&magnitudeBits, math.Float32bits(r)&magnitudeBits)
}

// at returns the lamp's state when the loop's highest peak stands over dB above
// the threshold.
func (b *lampBook) at(over float64) lampState {
	if over < 0 || b.peak == 0 {
		return lampState{}
	}
	threshold := math.Float32bits(float32(b.peak * audio.Gain(-over)))
	hold := int(math.Round(lampHold * audio.Rate))
	var first, prev int
	var starts, ends []int // of the times it is lit, in order
	found := false
	for _, h := range b.hits {
		if h.magnitude < threshold {
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
