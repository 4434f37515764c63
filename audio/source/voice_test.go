package source

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

// modulation is the modulation spectrum of a sound's intensity in third octaves from
// 0.5 Hz on.
func modulation(x []float32) []float64 {
	sum := make([]float64, 18)
	const step = 240 // 5 ms
	m := len(x) / step
	env := make([]float64, m)
	mean := 0.0
	for i := range env {
		for _, v := range x[i*step : (i+1)*step] {
			env[i] += float64(v) * float64(v)
		}
		mean += env[i] / float64(m)
	}
	c := fourier.NewFFT(m).Coefficients(nil, env)
	for k := 1; k < len(c); k++ {
		hz := float64(k) * audio.Rate / step / float64(m)
		band := int(math.Round(3 * math.Log2(hz/0.5)))
		if band >= 0 && band < len(sum) {
			a := real(c[k])*real(c[k]) + imag(c[k])*imag(c[k])
			sum[band] += a / (mean * mean * float64(m) * float64(m))
		}
	}
	return sum
}

// The modulation spectrum of connected speech, in third octaves of the
// intensity envelope, peaks between 3 and 6 Hz, near the rate of syllables
// (T. Houtgast and H. J. M. Steeneken, "A review of the MTF concept in room
// acoustics", JASA 77, 1985; from memory). Measured as here, the prompts of five
// speakers named in testdata/sources/real.csv peak at 4 to 6.3 Hz, with a
// modulation index of 0.4 to 0.7 in that band.
func TestVoiceModulation(t *testing.T) {
	check := func(name string, count int, of func(m made) bool) {
		sum := make([]float64, 18)
		n := 0
		for _, m := range survey(Voice) {
			if n < count && of(m) {
				n++
				for b, v := range m.modulation {
					sum[b] += v
				}
			}
		}
		best := 0
		for b, v := range sum {
			if v > sum[best] {
				best = b
			}
		}
		hz := 0.5 * math.Exp2(float64(best)/3)
		t.Logf("%s: %d sounds, peak at %.1f Hz, modulation index there %.2f", name, n, hz, math.Sqrt(2*2*sum[best]/float64(n)))
		if n < 10 || hz < 3 || hz > 6 {
			t.Errorf("%s: modulation of %d sounds peaks at %.1f Hz, want 3 to 6", name, n, hz)
		}
	}
	for _, k := range voiceKinds {
		if k.name != "sung line" && !k.reserved { // no connected speech: notes are slower, counted words too
			check(k.name, 40, func(m made) bool { return m.kind == k.name })
		}
	}
	check("as drawn", 40, func(made) bool { return true })
}
