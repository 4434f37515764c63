package drills

import (
	"testing"
	"time"

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

// BenchmarkSlices reports the longest slice between two pauses while an exercise is made, of
// each drill at every fifth step. Each is made four times, and of every slice the shortest
// time counts, for other programs hold the processor too.
func BenchmarkSlices(b *testing.B) {
	for _, d := range Drills() {
		b.Run(d.ID, func(b *testing.B) {
			longest := time.Duration(0)
			for range b.N {
				for level := ladder.Bottom; level <= ladder.Top; level += 5 {
					var slices []time.Duration
					for try := range 4 {
						at, i := time.Now(), 0
						pause := func() {
							took := time.Since(at)
							if try == 0 {
								slices = append(slices, took)
							}
							slices[i] = min(slices[i], took)
							i++
							at = time.Now()
						}
						if _, err := NewExercise(d.ID, 7, level, level, Settings{Pause: pause}); err != nil {
							b.Fatal(err)
						}
						pause()
					}
					for _, took := range slices {
						longest = max(longest, took)
					}
				}
			}
			b.ReportMetric(float64(longest)/float64(time.Millisecond), "longest-ms")
		})
	}
}
