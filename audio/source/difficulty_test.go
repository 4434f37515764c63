package source

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"slowneedle/audio"
)

// unevenness is by how much the tenth highest peak of 100 ms lies below the highest, in dB.
func unevenness(x []float32) float64 {
	const step = audio.Rate / 10
	var tops []float64
	for at := 0; at+step <= len(x); at += step {
		tops = append(tops, magnitude(x[at:at+step]))
	}
	slices.Sort(tops)
	return audio.DB(tops[len(tops)-1] / tops[len(tops)-10])
}

// drift is how far the levels of eighths of the loop lie apart, in dB. The level
// of an eighth is that of its louder parts: the fifth loudest of its 20 ms out of
// each 25.
func drift(x []float32) float64 {
	const step = audio.Rate / 50
	var l []float64
	for i := range 8 {
		var parts []float64
		for at := i * len(x) / 8; at+step <= (i+1)*len(x)/8; at += step {
			sum := 0.0
			for _, v := range x[at : at+step] {
				sum += math.Abs(float64(v))
			}
			parts = append(parts, sum/step)
		}
		slices.Sort(parts)
		l = append(l, audio.DB(parts[len(parts)*4/5]+1e-4))
	}
	return stat.PopStdDev(l, nil)
}

// silence is the longest pause in seconds: stretches of 20 ms that stay 40 dB
// below the peak.
func silence(x []float32) float64 {
	const step = audio.Rate / 50
	limit := float32(audio.Gain(PeakDBFS - 40))
	longest, run := 0, 0
	for range 2 { // twice round, for a pause over the seam
		for at := 0; at+step <= len(x); at += step {
			part := x[at : at+step]
			run++
			if slices.Max(part) > limit || slices.Min(part) < -limit {
				run = 0
			}
			longest = max(longest, run)
		}
	}
	return float64(min(longest, len(x)/step)) * step / audio.Rate
}

// Each side of the difficulty does what it says, more of it the higher it is, and no
// more than recordings have (TestHardestIsReal).
func TestDifficulty(t *testing.T) {
	sides := []struct {
		name    string
		set     func(v float64) Difficulty
		plain   func(m made) float64 // as measured for the survey
		measure func(x []float32) float64
		least   float64 // by how much the hardest exceeds the plain
	}{
		{"irregular", func(v float64) Difficulty { return Difficulty{Irregular: v} }, func(m made) float64 { return m.unevenly }, unevenness, 0.3},
		{"wander", func(v float64) Difficulty { return Difficulty{Wander: v} }, func(m made) float64 { return m.drift }, drift, 0.3},
		{"pauses", func(v float64) Difficulty { return Difficulty{Pauses: v} }, func(m made) float64 { return m.silence }, silence, 0.25},
	}
	for _, f := range Generated() {
		for _, side := range sides {
			t.Run(string(f)+"/"+side.name, func(t *testing.T) {
				t.Parallel()
				const seeds = 16
				got := []float64{0}
				for _, m := range survey(f)[:seeds] {
					got[0] += side.plain(m) / seeds
				}
				for _, v := range []float64{0.5, 1} {
					sum := 0.0
					for seed := range uint64(seeds) {
						s, err := Generate(f, seed, side.set(v))
						if err != nil {
							t.Fatal(err)
						}
						sum += side.measure(s.Channels[0])
					}
					got = append(got, sum/seeds)
				}
				t.Logf("%.2f at 0, %.2f at 0.5, %.2f at 1", got[0], got[1], got[2])
				if !(got[0] < got[1] && got[1] < got[2]) || got[2]-got[0] < side.least {
					t.Errorf("%.2f at 0, %.2f at 0.5, %.2f at 1: does not rise by %g", got[0], got[1], got[2], side.least)
				}
			})
		}
	}
}

// Beyond 0 to 1 the difficulty is held, and not-a-number is plain.
func TestDifficultyHeld(t *testing.T) {
	same := func(a, b Difficulty) {
		t.Helper()
		x, _ := Generate(Struck, 5, a)
		y, _ := Generate(Struck, 5, b)
		if !slices.Equal(x.Channels[0], y.Channels[0]) {
			t.Errorf("%v is not as %v", a, b)
		}
	}
	same(Difficulty{5, 2, 9}, Difficulty{1, 1, 1})
	same(Difficulty{-5, -1, math.Inf(-1)}, Difficulty{})
	same(Difficulty{math.NaN(), math.NaN(), math.NaN()}, Difficulty{})
}
