package meter

import (
	"fmt"
	"math"
)

// Loudness measures programme loudness after ITU-R BS.1770-5 and EBU Tech 3341:
// K-weighting, momentary (400 ms) and short-term (3 s) loudness brought up to date
// every 10 ms, and integrated loudness over gating blocks of 400 ms that begin every 100 ms,
// gated at -70 LUFS and at 10 LU below the loudness of what passes the first gate.
//
// Memory does not grow with time: gating blocks are kept as a histogram of 0.01 LU bins,
// each with the exact sum of its blocks, so both gated means are exact but for
// blocks within 0.01 LU of the second gate, which pass or fail together with their
// bin. On programme that moves the result by less than 0.01 LU.
//
// Samples that are no finite number silence the 10 ms they stand in.
type Loudness struct {
	rate     int
	weights  []float64
	filter   kfilter
	channels []kchannel

	at    int64 // frames so far
	parts int64 // finished parts of 10 ms
	next  int64 // frame at which the current part ends

	ring  [shortParts]float64 // weighted energy of the last parts
	short float64             // energy of the last 3 s
	moment,
	maxMoment, maxShort float64 // mean squares
	gate histogram
}

const (
	partsPerSecond = 100
	momentParts    = 40
	shortParts     = 300
	stepParts      = 10 // gating blocks begin this far apart
)

// kchannel is one channel's filter state and the energy of its current part.
type kchannel struct {
	state  [4]float64
	energy float64
}

// Rates at which loudness can be measured, in hertz.
const (
	minLoudnessRate = 8000
	maxLoudnessRate = 384000
)

// NewLoudness returns a loudness meter. The channels are, in the order of
// BS.1770-5 and of WAV files: 1 mono; 2 left, right; 3 with centre; 4 left, right,
// left and right surround; 5 left, right, centre and the surrounds; 6 the same with
// the low-frequency channel, which does not count, fourth. Surrounds weigh 1.41.
//
// It returns an error for a rate outside 8 kHz to 384 kHz, and for no channels or more
// than six.
func NewLoudness(rate, channels int) (*Loudness, error) {
	if rate < minLoudnessRate || rate > maxLoudnessRate {
		return nil, fmt.Errorf("loudness: sample rate %d Hz; rates from %d to %d Hz can be measured",
			rate, minLoudnessRate, maxLoudnessRate)
	}
	layouts := [][]float64{
		{1}, {1, 1}, {1, 1, 1}, {1, 1, 1.41, 1.41}, {1, 1, 1, 1.41, 1.41}, {1, 1, 1, 0, 1.41, 1.41},
	}
	if channels < 1 || channels > len(layouts) {
		return nil, fmt.Errorf("loudness: %d channels; one to %d can be measured", channels, len(layouts))
	}
	l := &Loudness{
		rate: rate, weights: layouts[channels-1], filter: kweighting(rate),
		channels: make([]kchannel, channels),
	}
	l.next = l.end(0)
	return l, nil
}

// end is the frame at which a part ends.
func (l *Loudness) end(part int64) int64 { return (part + 1) * int64(l.rate) / partsPerSecond }

// Process takes any number of samples: one slice a channel, all equally long, as
// many as the meter was made for. Further slices, and what is longer than the
// shortest, are ignored; with too few slices everything is.
func (l *Loudness) Process(samples ...[]float32) {
	if len(samples) < len(l.channels) {
		return
	}
	for from, n := 0, shortest(samples); from < n; {
		to := min(n, from+int(l.next-l.at))
		if len(l.channels) == 2 {
			l.filter.weighBoth(samples[0][from:to], samples[1][from:to], &l.channels[0], &l.channels[1])
		} else {
			for c := range l.channels {
				if l.weights[c] != 0 {
					l.filter.weigh(samples[c][from:to], &l.channels[c])
				}
			}
		}
		l.at += int64(to - from)
		if from = to; l.at == l.next {
			l.finish()
		}
	}
}

// finish closes a part of 10 ms.
func (l *Loudness) finish() {
	var e float64
	for c := range l.channels {
		e += float64(l.weights[c] * l.channels[c].close())
	}
	l.ring[l.parts%shortParts] = e
	l.parts++
	l.next = l.end(l.parts)

	var sum float64
	for i := range int64(momentParts) {
		sum += l.ring[(l.parts-1-i+shortParts)%shortParts]
	}
	l.moment = sum / l.frames(momentParts)
	l.maxMoment = max(l.maxMoment, l.moment)
	var short float64
	for _, e := range l.ring {
		short += e
	}
	l.short = short / l.frames(shortParts)
	l.maxShort = max(l.maxShort, l.short)
	if l.parts >= momentParts && l.parts%stepParts == 0 {
		l.gate.add(l.moment)
	}
}

// frames is how many frames so many parts are long. Where 100 does not divide the rate,
// parts differ by a frame; over 400 ms that makes less than 0.002 dB.
func (l *Loudness) frames(parts int64) float64 {
	return float64(parts) * float64(l.rate) / partsPerSecond
}

// lufs returns the loudness of a weighted mean square; -Inf for silence.
func lufs(meanSquare float64) float64 {
	if meanSquare <= 0 {
		return math.Inf(-1)
	}
	return -0.691 + float64(10*math.Log10(meanSquare))
}

// Momentary is the loudness of the last 400 ms in LUFS, as if silence preceded
// the start; -Inf for silence.
func (l *Loudness) Momentary() float64 { return lufs(l.moment) }

// ShortTerm is the loudness of the last 3 s in LUFS, as if silence preceded
// the start; -Inf for silence.
func (l *Loudness) ShortTerm() float64 { return lufs(l.short) }

// Integrated is the gated loudness since the start, in LUFS. It is -Inf
// until a gating block has passed the gate at -70 LUFS.
func (l *Loudness) Integrated() float64 { return lufs(l.gate.mean()) }

// MaxMomentary is the greatest momentary loudness so far, in LUFS; -Inf for
// silence.
func (l *Loudness) MaxMomentary() float64 { return lufs(l.maxMoment) }

// MaxShortTerm is the greatest short-term loudness so far, in LUFS; -Inf for
// silence.
func (l *Loudness) MaxShortTerm() float64 { return lufs(l.maxShort) }

// IntegratedLoudness is the integrated loudness in LUFS of a whole recording, one
// slice a channel, as NewLoudness has them: -Inf if it is too quiet or too short to
// have one, NaN for a rate or a number of channels that cannot be measured.
func IntegratedLoudness(rate int, channels ...[]float32) float64 {
	l, err := NewLoudness(rate, len(channels))
	if err != nil {
		return math.NaN()
	}
	l.Process(channels...)
	return l.Integrated()
}
