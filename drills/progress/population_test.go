package progress

import (
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/drills/ladder"
)

// The table of the population is what population.go describes, simulated here
// with other random numbers than it was made with.
func TestPopulation(t *testing.T) {
	const learners, rounds, warm = 400_000, 60, 20
	rng := rand.New(rand.NewPCG(2026, 7))
	var n, sum, squares, wrong [ladder.Top + 1]float64
	for range learners {
		bias := 0.8 * rng.NormFloat64()
		spread := 1.5 * math.Exp(0.4*rng.NormFloat64())
		var s ladder.State
		for i := range rounds {
			level := s.Now()
			tolerance := ladder.At(level).ToleranceDB
			err := math.Abs(bias + spread*rng.NormFloat64())
			if i >= warm {
				r := min(err/tolerance, mostTolerances)
				n[level]++
				sum[level] += r
				squares[level] += r * r
				if err > tolerance {
					wrong[level]++
				}
			}
			s = s.Next(err <= tolerance)
		}
	}
	for level := ladder.Bottom; level <= ladder.Top; level++ {
		m := sum[level] / n[level]
		got := norm{m, math.Sqrt(squares[level]/n[level] - m*m), wrong[level] / n[level]}
		t.Logf("{%.2f, %.2f, %.2f}, // %d, of %.0f takes", got.mean, got.deviation, got.wrong, level, n[level])
		want := population[level]
		// Both runs have their chance, and the takes of a learner go together.
		allowed := 0.01 + 6*got.deviation/math.Sqrt(n[level])
		if math.Abs(got.mean-want.mean) > allowed || math.Abs(got.deviation-want.deviation) > allowed || math.Abs(got.wrong-want.wrong) > allowed {
			t.Errorf("level %d: simulated %+v, the table has %+v", level, got, want)
		}
	}
}
