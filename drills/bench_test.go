package drills

import (
	"testing"

	"slowneedle/audio/source"
)

// A round ready: source made, measured, aim known.
func BenchmarkRound(b *testing.B) {
	for _, f := range source.Generated() {
		b.Run(string(f), func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				if _, err := NewRound(1, i, Settings{Family: f}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkJudge(b *testing.B) {
	r, err := NewRound(1, 0, Settings{})
	if err != nil {
		b.Fatal(err)
	}
	take := r.ShowMe()
	for b.Loop() {
		if _, err := Judge(r, take); err != nil {
			b.Fatal(err)
		}
	}
}
