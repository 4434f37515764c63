package progress_test

import (
	"fmt"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills/progress"
)

// A home screen says what to practise next, and why.
func ExampleBook_Next() {
	var book progress.Book
	evening := time.Date(2026, 3, 2, 19, 0, 0, 0, time.UTC)
	for i := range 12 {
		book.Add(progress.Mark{At: evening, Drill: "take", Family: source.Struck, Level: 2, ErrorDB: 2.5 + float64(i%3)/2})
		book.Add(progress.Mark{At: evening, Drill: "take", Family: source.Voice, Level: 2, ErrorDB: float64(i%3-1) / 4, Right: true})
	}
	advice, _ := book.Next([]progress.Key{
		{Drill: "take", Family: source.Voice},
		{Drill: "take", Family: source.Struck},
	}, evening.AddDate(0, 0, 1))
	switch advice.Code {
	case progress.TooHot:
		fmt.Printf("On %s sources you stop %.0f dB too hot.\n", advice.Family, advice.DB)
	}
	s := book.Summary(progress.Key{Family: source.Struck}, 0)
	fmt.Printf("bias %+.1f dB (%+.1f to %+.1f), spread %.1f dB (%.1f to %.1f)\n",
		s.BiasDB.Value, s.BiasDB.Lo, s.BiasDB.Hi, s.SpreadDB.Value, s.SpreadDB.Lo, s.SpreadDB.Hi)
	// Output:
	// On struck sources you stop 3 dB too hot.
	// bias +3.0 dB (+2.7 to +3.3), spread 0.4 dB (0.3 to 0.7)
}
