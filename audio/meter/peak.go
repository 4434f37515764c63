package meter

import (
	"math"

	"slowneedle/audio"
)

// SamplePeak holds the greatest sample magnitude of one channel (IEC 60268-18,
// AES17: a full-scale sine is 0 dBFS). The zero value is ready. Samples that are
// no finite number are skipped.
type SamplePeak struct{ max float32 }

// Process takes any number of samples.
func (s *SamplePeak) Process(samples []float32) {
	p := loudest(samples)
	if p > math.MaxFloat32 {
		p = 0
		for _, v := range samples {
			if v = abs32(v); v > p && v <= math.MaxFloat32 {
				p = v
			}
		}
	}
	s.max = max(s.max, p)
}

// Level is the greatest magnitude so far in dBFS; -Inf for silence.
func (s *SamplePeak) Level() float64 { return audio.DB(float64(s.max)) }

// Reset forgets what was heard.
func (s *SamplePeak) Reset() { s.max = 0 }

// TruePeak holds the greatest magnitude the signal of one channel reaches between
// and at its samples: ITU-R BS.1770-5 annex 2, with 4 times oversampling below
// 88.2 kHz and 2 times from there on. Beyond the annex, which takes the greatest
// oversampled value as it is, a parabola is laid through that value and its
// neighbours: tones up to 20 kHz are read to 0.05 dB at any phase, where the annex
// alone is up to 0.6 dB short.
//
// It interpolates only where the samples allow a new maximum. An interpolated
// value is a sum of h[k] x[k], so its magnitude is at most max|x| times sum|h|;
// the parabola adds at most a factor 1/cos(pi/8). Where that bound does not exceed
// the maximum held so far nothing can be missed. Non-finite samples silence the
// block of 32 frames they stand in and its neighbours.
type TruePeak struct {
	over    oversampler
	max     float32
	before  float32 // greatest magnitude of the block before
	skipped bool
}

// NewTruePeak returns a true peak meter for a sample rate in hertz.
func NewTruePeak(rate int) *TruePeak { return &TruePeak{over: newOversampler(rate)} }

// Process takes any number of samples.
func (t *TruePeak) Process(samples []float32) {
	for {
		rest, full := t.over.fill(samples)
		if !full {
			return
		}
		now := loudest(t.over.x[history:])
		if reach := max(now, t.before) * interpolatedMost; reach > t.max {
			if t.skipped {
				t.over.prime()
			}
			t.max = t.over.runPeak(t.max)
			t.skipped = false
		} else {
			t.skipped = true
		}
		t.before = now
		t.over.next()
		samples = rest
	}
}

// Level is the true peak so far in dBTP, as if silence followed; -Inf for
// silence. It is never below the sample peak.
func (t *TruePeak) Level() float64 {
	tail := t.over
	if t.skipped {
		tail.prime()
	}
	return audio.DB(float64(tail.flush(t.max)))
}

// Reset forgets what was heard.
func (t *TruePeak) Reset() { *t = TruePeak{over: oversampler{factor: t.over.factor}} }

// flush returns the true peak after silence has followed. It uses s up.
func (s *oversampler) flush(most float32) float32 {
	for range 2 {
		clear(s.x[history+s.n:])
		most = s.runPeak(most)
		s.next()
	}
	return most
}

// runPeak runs the block and returns its true peak if that passes most; else most.
func (s *oversampler) runPeak(most float32) float32 {
	return s.truePeak(s.run(0), most)
}

// parabolaMost is the most the parabola may add: a tone at half the sample rate,
// four times oversampled, is under-read by cos(pi/8) at worst.
const parabolaMost = 1.0823922

// interpolatedMost bounds a true peak by the greatest sample around it, rounding
// included.
var interpolatedMost = 1.0001 * parabolaMost * gainMost()

// gainMost is the greatest sum of magnitudes of taps of any phase.
func gainMost() float32 {
	// Taps of each phase on the samples, by interpolating unit pulses.
	most := 1.0
	var sums [4]float64
	for at := range history + blockFrames {
		var s oversampler
		s.factor = 4
		s.x[at] = 1
		s.prime()
		s.run(0)
		var row [4 * blockFrames]float32
		for i, v := range s.inOrder(&row)[blockFrames:][:4] {
			sums[i] += math.Abs(float64(v))
		}
	}
	for _, s := range sums {
		most = max(most, s)
	}
	return float32(most)
}

// truePeak looks through the block just run for a value above most.
func (s *oversampler) truePeak(of sums, most float32) float32 {
	if !(of.magnitude <= math.MaxFloat32) || of.peak*parabolaMost <= most {
		return most
	}
	var row [4 * blockFrames]float32
	values := s.inOrder(&row)
	before := s.last
	for i, v := range values {
		after := s.x[lead+blockFrames]
		if i+1 < len(values) {
			after = values[i+1]
		}
		most = vertex(before, v, after, most)
		before = v
	}
	return most
}

// vertex returns the height of the parabola through three neighbours if the
// middle one is an extremum and the height passes most; else most.
func vertex(a, y, b, most float32) float32 {
	if y < 0 {
		a, y, b = -a, -y, -b
	}
	if y < a || y < b || y*parabolaMost <= most {
		return most
	}
	if bend := float32(2*y) - a - b; bend > 0 {
		y = min(y+float32((a-b)*(a-b)/(8*bend)), y*parabolaMost)
	}
	return max(most, y)
}
