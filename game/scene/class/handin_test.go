package class

import (
	"fmt"
	"testing"

	"slowneedle/drills"
)

// The points on the hand-in's screen are those of the mark book, which writes the mean
// without decimals.
func TestPointsAsInTheMarkBook(t *testing.T) {
	for _, points := range [][]int{{44, 37, 26}, {100}, {0, 1, 1}, {44, 43}, {42, 43}} {
		var verdicts []drills.Verdict
		mean := 0.0
		for _, p := range points {
			verdicts = append(verdicts, drills.Verdict{Points: p, InWindow: p == 100})
			mean += float64(p) / float64(len(points))
		}
		if _, got := sum(verdicts); fmt.Sprint(got) != fmt.Sprintf("%.0f", mean) {
			t.Errorf("%v: %d points a round, want %.0f", points, got, mean)
		}
	}
}
