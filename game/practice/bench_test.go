package practice

import (
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/progress"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// BenchmarkOnWindow reports how long a round of each drill holds the window's thread, at all
// steps the longest: when it is asked for, and when it is ready.
func BenchmarkOnWindow(b *testing.B) {
	for _, d := range drills.Drills() {
		b.Run(d.ID, func(b *testing.B) {
			var told []string
			p := NewSession(7, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(&progress.Book{}, &words.Speech{}, silentReports(&told)))
			longest := 0.0
			for range b.N {
				for level := ladder.Bottom; level <= ladder.Top; level++ {
					from := time.Now()
					m := p.nextOf(d.ID, "")
					held := time.Since(from)
					if _, err := m.Wait(); err != nil {
						b.Fatal(err)
					}
					ex, err := drills.NewExercise(d.ID, 7, level, level, drills.Settings{})
					if err != nil {
						b.Fatal(err)
					}
					from = time.Now()
					play, err := NewPlay(&Assignment{Exercise: ex}, p.Prefs.Settings)
					if err != nil {
						b.Fatal(err)
					}
					play.Begin()
					held += time.Since(from)
					longest = max(longest, float64(held)/float64(time.Millisecond))
				}
			}
			b.ReportMetric(longest, "held-ms")
		})
	}
}
