package source

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

const (
	window = 1024
	beside = audio.Rate / 20 // 50 ms: what a seam is compared with, on either side
	click  = 8               // how many samples a click may be long
)

// joint is what happens at a loop's seam, going round. Of less than about
// -100 dBFS nothing is said.
type joint struct {
	step   float64 // greatest step from sample to sample within a click's length of the seam, against the 50 ms on either side, dB
	treble float64 // level above 10 kHz in a window laid across the seam against those of the 50 ms on either side that do not touch it, dB
	most   float64 // the same against the most in the whole loop, dB
	onset  bool    // a note, a stroke or a consonant lies on the seam: the 20 ms behind a click are louder than those before it, as a whole or above 10 kHz, or the 10 ms on one side brighter than all of the 50 ms
}

// fault returns what of a joint is a click, or "" if it is none: a step or treble
// that the sound does not have around it. A stroke that begins on the seam has
// neither in the 50 ms around it; its treble is held against the other strokes
// of the loop.
func (j joint) fault() string {
	switch {
	case j.step > 3, !j.onset && j.step > 2:
		return fmt.Sprintf("the step at the seam is %.1f dB above the greatest within 50 ms", j.step)
	case !j.onset && j.treble > 3:
		return fmt.Sprintf("treble across the seam is %.1f dB above the most within 50 ms, and nothing begins there", j.treble)
	case j.most > 6:
		return fmt.Sprintf("treble across the seam is %.1f dB above the most elsewhere", j.most)
	}
	return ""
}

func seam(x []float32) joint {
	n := len(x)
	at := func(i int) float64 { return float64(x[(i+n)%n]) }
	const least = 1e-5
	here, around := least, least
	for i := -beside; i <= beside; i++ {
		d := math.Abs(at(i) - at(i-1))
		if i >= -click && i <= click {
			here = max(here, d)
		} else {
			around = max(around, d)
		}
	}
	fft := fourier.NewFFT(window)
	buf := make([]float64, window)
	var coef []complex128
	level := func(from, hertz int) float64 {
		for i, h := range lobes {
			buf[i] = h * at(from+i)
		}
		coef = fft.Coefficients(coef, buf)
		sum := 0.0
		for _, c := range coef[window*hertz/audio.Rate:] {
			sum += real(c)*real(c) + imag(c)*imag(c)
		}
		return 10 * math.Log10(sum+least)
	}
	const treble = 10000
	across := level(-window/2, treble)
	local, loudest := math.Inf(-1), math.Inf(-1)
	for from := 0; from+window <= beside; from += window / 8 {
		local = max(local, level(from, treble), level(-from-window, treble))
	}
	for from := range hottest(x) {
		for _, shift := range []int{0, window / 4, window / 2} {
			loudest = max(loudest, level(from-shift, treble))
		}
	}
	// What lies across the seam and is longer than a click, as a consonant is, stays
	// brighter than the 50 ms beside it with the click's length taken out.
	bare := math.Inf(-1)
	for _, from := range []int{-click - 1 - window/2, click + 1} {
		for i := range buf {
			buf[i] = 0
			if i < window/2 {
				buf[i] = lobes[2*i] * at(from+i)
			}
		}
		coef = fft.Coefficients(coef, buf)
		sum := 0.0
		for _, c := range coef[window*treble/audio.Rate:] {
			sum += real(c)*real(c) + imag(c)*imag(c)
		}
		bare = max(bare, 10*math.Log10(2*sum+least)) // half as long
	}
	rise := func(hertz int) float64 { return level(click+1, hertz) - level(-click-1-window, hertz) }
	return joint{
		step:   audio.DB(here / around),
		treble: across - local,
		most:   across - loudest,
		onset:  rise(0) > 2 || rise(treble) > 2 || bare-local > 2,
	}
}

// hottest yields where the signal bends most, away from the seam.
func hottest(x []float32) iter.Seq[int] {
	type spot struct {
		at    int
		power float32
	}
	var spots []spot
	for b := window; b+2*window <= len(x); b += window / 2 {
		var sum float32
		v, d := x[b-1], x[b-1]-x[b-2]
		for _, w := range x[b : b+window/2] {
			e := w - v
			sum += (e - d) * (e - d)
			v, d = w, e
		}
		spots = append(spots, spot{b, sum})
	}
	slices.SortFunc(spots, func(a, b spot) int { return cmp.Compare(b.power, a.power) })
	return func(yield func(int) bool) {
		for _, s := range spots[:5] {
			if !yield(s.at) {
				return
			}
		}
	}
}

// lobes is a window whose side lobes lie 92 dB down (Blackman-Harris).
var lobes = func() (w [window]float64) {
	for i := range w {
		t := 2 * math.Pi * float64(i) / window
		w[i] = 0.35875 - 0.48829*math.Cos(t) + 0.14128*math.Cos(2*t) - 0.01168*math.Cos(3*t)
	}
	return
}()

// No click at the seam of any loop.
func TestSeam(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			most, onsets := joint{step: -200, treble: -200, most: -200}, 0
			for seed, m := range survey(f) {
				if fault := m.seam.fault(); fault != "" {
					t.Errorf("seed %d, %s: %s", seed, m.full, fault)
				}
				most.step, most.most = max(most.step, m.seam.step), max(most.most, m.seam.most)
				if m.seam.onset {
					onsets++
				} else {
					most.treble = max(most.treble, m.seam.treble)
				}
			}
			t.Logf("at most: step %.1f dB, treble %.1f dB, against the whole loop %.1f dB; something begins on the seam of %d", most.step, most.treble, most.most, onsets)
		})
	}
}

// clicked puts a click on the seam, half as large again as the greatest step within
// 50 ms.
func clicked(loop []float32) []float32 {
	x := slices.Clone(loop)
	n := len(x)
	var local float32
	for i := -beside; i <= beside; i++ {
		d := x[(i+n)%n] - x[(i+n-1)%n]
		local = max(local, d, -d)
	}
	size := 1.5 * max(local, 0.01) // -40 dBFS in a pause
	if x[0] < x[n-1] {
		size = -size
	}
	x[0] += size
	return x
}

// A click put on the seam is found in every loop of every family. Many are no larger
// than a drum's or a string's onset elsewhere in the loop.
func TestSeamFindsClicks(t *testing.T) {
	for _, f := range Generated() {
		for seed, m := range survey(f)[:few] {
			if m.clicked.fault() == "" {
				t.Errorf("%s, seed %d, %s: a click is not found: %+v", f, seed, m.full, m.clicked)
			}
		}
	}
}
