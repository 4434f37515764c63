package drills

import (
	"testing"

	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// A round ready: source made, measured, aim known.
func BenchmarkRound(b *testing.B) {
	for _, f := range source.Generated() {
		b.Run(string(f), func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				if _, err := plain(1, i, Settings{Family: f}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkJudge(b *testing.B) {
	r, err := plain(1, 0, Settings{})
	if err != nil {
		b.Fatal(err)
	}
	take := r.ShowMe()
	for b.Loop() {
		if _, err := r.Judge(take); err != nil {
			b.Fatal(err)
		}
	}
}

// An exercise ready, and its answer judged, at the top of the ladder.
func BenchmarkExercise(b *testing.B) {
	for _, d := range Drills() {
		b.Run(d.ID, func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				if _, err := NewExercise(d.ID, 1, i, ladder.Top, Settings{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(d.ID+"-judge", func(b *testing.B) {
			e, err := NewExercise(d.ID, 1, 0, ladder.Top, Settings{})
			if err != nil {
				b.Fatal(err)
			}
			take := e.ShowMe()
			for b.Loop() {
				if _, err := e.Judge(take); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
