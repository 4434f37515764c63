package source

import (
	"math/rand/v2"
	"testing"
)

// Utterances are spoken side by side, so no two may share a frame of the loop.
func TestUtterancesApart(t *testing.T) {
	for _, seconds := range []float64{0, 30} {
		for seed := range uint64(400) {
			p := newPlan(rand.New(rand.NewPCG(seed, 1)), Request{Seconds: seconds, Difficulty: Difficulty{Pauses: float64(seed%3) / 2}}, 0, 0)
			p.length(10.2, 12.8)
			how := fluent
			how.rate = p.between(4.2, 6.2)
			l := p.lay([]speaker{p.speaker(false), p.speaker(true)}, how)
			spoken := make([]bool, p.n)
			for i, u := range l.all {
				for k := range len(u.t) * hop {
					at := (u.at + k) % p.n
					if spoken[at] {
						t.Fatalf("seed %d, a take of %g s: utterance %d of %d shares frame %d of %d with another", seed, seconds, i+1, len(l.all), at, p.n)
					}
					spoken[at] = true
				}
			}
		}
	}
}
