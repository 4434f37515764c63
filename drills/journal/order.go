package journal

import (
	"slices"

	"slowneedle/drills/progress"
)

// byTime puts marks in order of time; of equals the first stays first.
func byTime(marks []progress.Mark) {
	slices.SortStableFunc(marks, func(a, b progress.Mark) int { return a.At.Compare(b.At) })
}
