package meter

import (
	"math"

	"slowneedle/audio"
)

// Loudest returns the greatest magnitude of samples; NaN is skipped.
func Loudest(samples []float32) float32 { return loudest(samples) }

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

// flush returns the true peak as it is when silence has followed. It changes s.
func (s *oversampler) flush(most float32) float32 {
	for range 2 {
		clear(s.x[history+s.n:])
		most = s.truePeak(s.run(0), most)
		s.next()
	}
	return most
}

// parabolaMost is the most the parabola may add: a tone at half the sample rate,
// four times oversampled, is under-read by cos(pi/8) at worst.
const parabolaMost = 1.0823922

// truePeak looks through the block just run for a value above most: ITU-R BS.1770-5
// annex 2, with 4 times oversampling. Beyond the annex, which takes the greatest
// oversampled value as it is, a parabola is laid through that value and its
// neighbours: tones up to 20 kHz are read to 0.05 dB at any phase, where the annex
// alone is up to 0.6 dB short.
//
// Samples that are not finite silence their block and its neighbours.
func (s *oversampler) truePeak(of sums, most float32) float32 {
	if !(of.magnitude <= math.MaxFloat32) || of.peak*parabolaMost <= most {
		return most
	}
	values := s.inOrder()
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
