package source

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

// unbroken returns the frequency of the first band of 1/24 octave, from 500 Hz on, that
// stays within 3 dB for 5 s while the whole moves by 10 dB, and 0 if there is none.
// Bands 50 dB and more below the whole's highest level do not count, nor does
// what moves by less.
func unbroken(x []float32) float64 {
	const n, hop, stay = 8192, audio.Rate / 10, 50
	fft := fourier.NewFFT(n)
	buf := make([]float64, n)
	var coef []complex128
	bands := int(24 * math.Log2(20000.0/500))
	level := make([][]float64, 0, len(x)/hop)
	var whole []float64
	for at := 0; at+n <= len(x); at += hop {
		for i := range buf {
			buf[i] = float64(x[at+i]) * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/n))
		}
		coef = fft.Coefficients(coef, buf)
		row := make([]float64, bands)
		sum := 1e-12
		for k, c := range coef {
			e := real(c)*real(c) + imag(c)*imag(c)
			sum += e
			if b := int(24 * math.Log2(float64(k)*audio.Rate/n/500)); k > 0 && b >= 0 && b < bands {
				row[b] += e
			}
		}
		for b := range row {
			row[b] = 10 * math.Log10(row[b]+1e-12)
		}
		level, whole = append(level, row), append(whole, 10*math.Log10(sum))
	}
	top := math.Inf(-1)
	for _, w := range whole {
		top = max(top, w)
	}
	for at := 0; at+stay <= len(level); at++ {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, w := range whole[at : at+stay] {
			lo, hi = min(lo, w), max(hi, w)
		}
		if hi-lo < 10 {
			continue
		}
		for b := range bands {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, row := range level[at : at+stay] {
				if lo, hi = min(lo, row[b]), max(hi, row[b]); hi-lo > 3 {
					break
				}
			}
			if hi-lo <= 3 && hi > top-50 {
				return 500 * math.Exp2(float64(b)/24)
			}
		}
	}
	return 0
}

// No sound that moves has a line that never stops, as if a machine stood in the
// room.
func TestNoLines(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(40) {
				s, err := Generate(f, seed, Difficulty{})
				if err != nil {
					t.Fatal(err)
				}
				for c, x := range s.Channels {
					if hz := unbroken(x); hz > 0 {
						t.Errorf("seed %d, %s, channel %d: a line at %.0f Hz", seed, s.Kind, c, hz)
					}
				}
			}
		})
	}
}
