package drills

import (
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

// TestMixIsTheWholeSum: the peak of the sum, found by looking at some blocks,
// and the samples at full scale are those of the sum of all samples, on loops of
// any length and at any gains.
func TestMixIsTheWholeSum(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := range 5 {
		var channels []Channel
		for range 2 + 3*n%7 {
			sound := new(source.Sound)
			length := 48000*5 + rng.IntN(3000)
			for side := range 1 + n%2 {
				x := make([]float32, length)
				for i := range x {
					x[i] = float32((0.05 + 0.05*float64(side)) * rng.NormFloat64()) // the right side is louder
				}
				for range 5 { // and a few peaks
					x[rng.IntN(length)] = float32(rng.Float64()) - 0.5
				}
				x[length-1], x[0] = 0.6, -0.9 // where the loop is closed
				sound.Channels = append(sound.Channels, x)
			}
			channels = append(channels, Channel{Sound: sound})
		}
		gains := make([]float64, len(channels))
		for i := range gains {
			gains[i] = -20 + 24*rng.Float64()
		}
		m := newMix(channels, func() {})
		linear := make([]float32, len(channels))
		for i := range linear {
			linear[i] = float32(audio.Gain(gains[i]))
		}
		for range 300 { // alone, a loop's highest sample is its bound wherever it stands in the stretch
			i, from := rng.IntN(len(channels)), rng.IntN(wholeSum*audio.Rate)
			if from%2 == 0 { // where the loop is closed
				from = len(m.sides[0][i]) - rng.IntN(2*mixBlock)
			}
			one := mix{sides: [][][]float32{m.sides[0][i : i+1]}, tops: [][][]float32{m.tops[0][i : i+1]}}
			x, top := m.sides[0][i], float32(0)
			for k := range mixBlock {
				top = max(top, linear[i]*x[(from+k)%len(x)], -linear[i]*x[(from+k)%len(x)])
			}
			if bound := one.bound(0, from, linear[i:i+1]); bound < top {
				t.Fatalf("from %d of %d the bound is %v, a sample has %v", from, len(x), bound, top)
			}
		}
		peak, clipped := m.peak(1, func(i int) float64 { return gains[i] })
		wantPeak, wantClipped := 0.0, int64(0)
		for side := range 2 {
			over := int64(0)
			for k := range wholeSum * audio.Rate {
				sum := float32(0)
				for i, s := range channels {
					x := s.Sound.Channels[min(side, len(s.Sound.Channels)-1)]
					sum += float32(linear[i] * x[k%len(x)])
				}
				v := math.Abs(float64(sum))
				wantPeak = max(wantPeak, v)
				if v >= 1 {
					over++
				}
			}
			wantClipped = max(wantClipped, over)
		}
		if peak != audio.DB(wantPeak) || clipped != wantClipped {
			t.Errorf("%d sounds: peak %v dBFS and %d samples, want %v and %d", len(channels), peak, clipped, audio.DB(wantPeak), wantClipped)
		}
	}
}
