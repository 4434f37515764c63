package drills

import (
	"math"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

// What came in is judged where it stands: a tone at -12 dBFS is 6 dB too hot for a rig
// with 0 VU at -18, one at -18.4 right, and one that clipped is not, wherever it
// stands.
func TestListened(t *testing.T) {
	tone := func(dbfs float64) *source.Sound {
		x := make([]float32, 12*audio.Rate)
		for i := range x {
			x[i] = float32(audio.Gain(dbfs) * math.Sin(2*math.Pi*440*float64(i)/audio.Rate))
		}
		return &source.Sound{Family: source.Own, Kind: "line input", Channels: [][]float32{x, x}}
	}
	for _, c := range []struct {
		dbfs    float64
		clipped int64
		off     float64
		right   bool
		want    string
	}{
		{-12, 0, 6, false, "6.0 dB too hot."},
		{-18.4, 0, -0.4, true, "In the window"},
		{-30, 0, -12, false, "12.0 dB too low."},
		{-18, 7, 0, false, "The input clips."},
	} {
		e, err := Listened(tone(c.dbfs), DigitalRig(), c.clipped)
		if err != nil {
			t.Fatal(err)
		}
		v, err := e.Judge(Take{LockAt: 12 * audio.Rate})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(v.ErrorDB-c.off) > 0.051 || v.InWindow != c.right || !strings.HasPrefix(v.Headline, c.want) || c.clipped > 0 && v.Points != 0 {
			t.Errorf("%g dBFS: %+v, want %g dB off, right %v, %q", c.dbfs, v, c.off, c.right, c.want)
		}
	}
	if _, err := Listened(tone(-79), DigitalRig(), 0); err != nil {
		t.Errorf("peaks of -79 dBFS: %v", err)
	}
	if _, err := Listened(tone(-81), DigitalRig(), 0); err == nil || !strings.Contains(err.Error(), "below -80 dBFS") {
		t.Errorf("peaks of -81 dBFS: %v", err)
	}
	if _, err := Listened(tone(-200), DigitalRig(), 0); err == nil || !strings.Contains(err.Error(), "silent") {
		t.Errorf("silence: %v", err)
	}
}
