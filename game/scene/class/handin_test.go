package class

import (
	"fmt"
	"testing"

	"slowneedle/drills"
)

// Who points at the wrong needle was neither too hot nor too low; who left the fader too far
// up was too hot.
func TestWrongOtherwise(t *testing.T) {
	needles, err := drills.NewExercise(drills.TrustIt, 21, 0, 1, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	right := needles.ShowMe()
	other := (*right.Choice + 1) % len(needles.Ask.Choices)
	wrong := right
	wrong.Choice = &other
	take, err := drills.NewExercise(drills.SetTake, 21, 0, 1, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	hot := take.ShowMe()
	hot.Moves = append(hot.Moves, drills.Move{At: hot.LockAt, To: 12})
	for _, c := range []struct {
		e    *drills.Exercise
		take drills.Take
		want bool
	}{{needles, right, false}, {needles, wrong, true}, {take, hot, false}} {
		v, err := c.e.Judge(c.take)
		if err != nil {
			t.Fatal(err)
		}
		if got := wrongOtherwise(v); got != c.want {
			t.Errorf("%s: %v, %+.1f dB: %v", c.e.Drill.ID, v.InWindow, v.ErrorDB, got)
		}
	}
}

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
