package widget

import (
	"fmt"
	"testing"

	"slowneedle/game/draw"
)

// Rows are split into as few pages as can be, as even as they can be, and each row is on
// one of them.
func TestPageOf(t *testing.T) {
	for _, c := range []struct{ n, most, pages int }{{12, 12, 1}, {12, 11, 2}, {12, 5, 3}, {1, 4, 1}, {7, 3, 3}, {50, 8, 7}} {
		sizes := map[string]int{}
		for row := range c.n {
			from, to := PageOf(c.n, c.most, row)
			if row < from || row >= to || to-from > c.most || to-from < c.n/c.pages {
				t.Errorf("%d rows, at most %d: row %d is on the page from %d to %d", c.n, c.most, row, from, to)
			}
			sizes[fmt.Sprint(from, to)]++
		}
		if len(sizes) != c.pages {
			t.Errorf("%d rows, at most %d: %d pages, want %d", c.n, c.most, len(sizes), c.pages)
		}
	}
}

// Errors stand around the aim as they are large, those beyond the ends at the ends.
func TestErrors(t *testing.T) {
	e := Errors{draw.R(100, 0, 120, 10), 6}
	for db, want := range map[float64]float64{0: 160, -6: 100, 6: 220, 1.5: 175, -40: 100, 9: 220} {
		if got := e.At(db); got != want {
			t.Errorf("%+g dB stands at %g, want %g", db, got, want)
		}
	}
	if got := e.Between(-1, 2); got != draw.R(150, 0, 30, 10) {
		t.Errorf("from -1 to 2 dB: %+v", got)
	}
}
