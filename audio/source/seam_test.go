package source

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

const window = 1024

// seam compares what happens across a loop's seam with what happens inside it:
// the step from sample to sample, and the level above 10 kHz in a window laid
// across the seam against the same in the windows where the most happens.
func seam(x []float32) (step, treble float64) {
	n := len(x)
	last := x[n-1]
	var most float32
	type spot struct {
		at    int
		power float32
	}
	spots := make([]spot, 0, 2*n/window)
	for b := window; b+2*window <= n; b += window / 2 {
		var sum, top float32
		v, d := x[b-1], x[b-1]-x[b-2]
		for _, w := range x[b : b+window/2] {
			e := w - v
			top = max(top, e, -e)
			sum += (e - d) * (e - d)
			v, d = w, e
		}
		most = max(most, top)
		spots = append(spots, spot{b, sum})
	}
	slices.SortFunc(spots, func(a, b spot) int { return cmp.Compare(b.power, a.power) })
	step = audio.DB(math.Abs(float64(x[0]-last))/float64(most) + 1e-9)

	fft := fourier.NewFFT(window)
	buf := make([]float64, window)
	var coef []complex128
	level := func(from int) float64 {
		for i, h := range lobes {
			buf[i] = h * float64(x[(from+i+n)%n])
		}
		coef = fft.Coefficients(coef, buf)
		sum := 0.0
		for k := window * 10000 / audio.Rate; k < len(coef); k++ {
			sum += real(coef[k])*real(coef[k]) + imag(coef[k])*imag(coef[k])
		}
		return 10 * math.Log10(sum+1e-5) // of less than about -100 dBFS nothing is said
	}
	loudest := math.Inf(-1)
	for _, s := range spots[:5] {
		for _, shift := range []int{0, window / 4, window / 2} {
			loudest = max(loudest, level(s.at-shift))
		}
	}
	return step, level(n-window/2) - loudest
}

// lobes is a window whose side lobes lie 92 dB down (Blackman-Harris).
var lobes = func() (w [window]float64) {
	for i := range w {
		t := 2 * math.Pi * float64(i) / window
		w[i] = 0.35875 - 0.48829*math.Cos(t) + 0.14128*math.Cos(2*t) - 0.01168*math.Cos(3*t)
	}
	return
}()

// No click at the seam of any loop: neither a step nor treble that the loop does
// not have elsewhere. The loudest onset may happen to lie on the seam, hence the
// few decibels of grace.
func TestSeam(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			var steps, trebles []float64
			for seed, m := range survey(f) {
				steps, trebles = append(steps, m.seamStep), append(trebles, m.seamTreble)
				if m.seamStep > 1 {
					t.Errorf("seed %d, %s: the step at the seam is %.1f dB above the greatest inside", seed, m.full, m.seamStep)
				}
				if m.seamTreble > 6 {
					t.Errorf("seed %d, %s: treble across the seam is %.1f dB above the most elsewhere", seed, m.full, m.seamTreble)
				}
			}
			t.Logf("at most: step %.1f dB, treble %.1f dB", slices.Max(steps), slices.Max(trebles))
		})
	}
}
