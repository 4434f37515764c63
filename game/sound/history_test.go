package sound

import (
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
)

// Of a round longer than what is kept, the last seconds begin where they were
// heard: 700 s less 15 are 685 s from its start.
func TestHistoryOfALongRound(t *testing.T) {
	var h History
	for second := range 701 {
		h.Add(desk.Snapshot{At: int64(second) * audio.Rate, PeakDBFS: [2]float64{-float64(second % 50), -90}})
	}
	cols, from := h.Tail(15 * 20)
	if want := (700-15)*float64(audio.Rate) + ColumnFrames; float64(from) != want || len(cols) != 300 {
		t.Errorf("%d columns begin at %.3f s, want 300 from %.3f s", len(cols), float64(from)/audio.Rate, want/audio.Rate)
	}
	if got := cols[len(cols)-1].Peak; got != 0 {
		t.Errorf("the last peak is %g dBFS, want that of second 700, 0", got)
	}
	if len(h.cols) > keepColumns {
		t.Errorf("%d columns are kept, want %d at most", len(h.cols), keepColumns)
	}
}
