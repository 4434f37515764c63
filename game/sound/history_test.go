package sound

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
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

// Needles of channels are taken from the desk: each shows its own tone, one 6 dB below
// the other, though only one of them is heard.
func TestHistoryOfChannels(t *testing.T) {
	tone := source.LineUp(-12)
	d, err := desk.New(desk.Config{Channels: []desk.Channel{{Sound: tone}, {Sound: tone, FaderDB: -6}}, ChannelMeters: true})
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]float32, 2*audio.Rate)
	for range 3 {
		d.Pull(buf)
	}
	var h History
	h.Take(d, 2)
	cols, _ := h.Tail(1)
	if len(cols) != 1 || len(cols[0].Channels) != 2 {
		t.Fatalf("the last columns are %+v", cols)
	}
	if a, b := cols[0].Channels[0], cols[0].Channels[1]; math.Abs(a+12) > 0.1 || math.Abs(b+18) > 0.1 {
		t.Errorf("the needles stand at %.2f and %.2f dBFS, want -12 and -18", a, b)
	}
}
