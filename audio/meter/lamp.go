package meter

import (
	"math"

	"slowneedle/audio"
)

// Lamp is a peak lamp over one or more channels. It lights at the first sample
// whose magnitude reaches the threshold and stays lit for the hold time after the
// last such sample. A flick is one lighting up, off to on. All counts are exact to
// the sample. Infinity lights it, NaN does not.
type Lamp struct {
	threshold float32
	hold      int64 // frames the lamp stays lit after the last peak
	at        int64 // frames so far
	last      int64 // the last peak's frame; far in the past if none
	flicks    int
}

// LampHold is for how long a peak lamp usually stays lit after the last peak, in
// seconds: long enough to be seen (common practice).
const LampHold = 0.15

const never = math.MinInt64 / 2

// NewLamp returns a dark lamp. The threshold is in dBFS, the hold in seconds.
func NewLamp(rate int, thresholdDBFS, holdSeconds float64) *Lamp {
	return &Lamp{threshold: atLeast(audio.Gain(thresholdDBFS)), hold: holdFrames(rate, holdSeconds), last: never}
}

func holdFrames(rate int, seconds float64) int64 {
	return int64(math.Round(min(max(seconds, 0)*float64(max(rate, 1)), 1<<40)))
}

// atLeast is the smallest float32 that is not below v.
func atLeast(v float64) float32 {
	f := float32(v)
	if float64(f) < v {
		f = math.Nextafter32(f, math.MaxFloat32)
	}
	return f
}

// Process takes any number of samples, one slice a channel, all equally long; what
// is longer than the shortest is ignored.
func (l *Lamp) Process(samples ...[]float32) {
	frames := shortest(samples)
	for from := 0; from < frames; from += lampRun {
		to := min(from+lampRun, frames)
		var p float32
		for _, ch := range samples {
			p = max(p, loudest(ch[from:to]))
		}
		if p >= l.threshold {
			for i := from; i < to; i++ {
				for _, ch := range samples {
					if abs32(ch[i]) >= l.threshold {
						l.peak(l.at + int64(i-from))
						break
					}
				}
			}
		}
		l.at += int64(to - from)
	}
}

// shortest is the length that all channels of a block have.
func shortest(samples [][]float32) int {
	if len(samples) == 0 {
		return 0
	}
	n := len(samples[0])
	for _, ch := range samples[1:] {
		n = min(n, len(ch))
	}
	return n
}

// lampRun is how many frames are looked at together.
const lampRun = 64

// peak takes note of a sample at or above the threshold.
func (l *Lamp) peak(at int64) {
	if at-l.last > l.hold+1 {
		l.flicks++
	}
	l.last = at
}

// Lit reports whether the lamp is lit at the newest frame.
func (l *Lamp) Lit() bool { return l.at-1-l.last <= l.hold }

// Flicks is how often it lit up since the start.
func (l *Lamp) Flicks() int { return l.flicks }
