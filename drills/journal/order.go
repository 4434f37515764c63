package journal

import (
	"cmp"
	"slices"

	"slowneedle/drills/progress"
)

// byTime puts marks in order of time; of equals the first stays first.
func byTime(marks []progress.Mark) {
	slices.SortStableFunc(marks, func(a, b progress.Mark) int { return a.At.Compare(b.At) })
}

// inOrder puts marks in an order that depends on nothing but themselves.
func inOrder(marks []progress.Mark) { slices.SortFunc(marks, compareMarks) }

func compareMarks(a, b progress.Mark) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Drill, b.Drill), cmp.Compare(a.Family, b.Family),
		cmp.Compare(a.Rig, b.Rig), cmp.Compare(a.Level, b.Level), cmp.Compare(a.ErrorDB, b.ErrorDB),
		cmp.Compare(a.Points, b.Points), cmp.Compare(flag(a.Right), flag(b.Right)), cmp.Compare(flag(a.NoError), flag(b.NoError)))
}

func flag(b bool) int {
	if b {
		return 1
	}
	return 0
}
