package drills

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
)

// clicks makes a loop with single samples of given levels below full scale at
// given seconds.
func clicks(seconds float64, at map[float64]float64) *source.Sound {
	x := make([]float32, int(seconds*audio.Rate))
	for t, db := range at {
		x[int(math.Round(t*audio.Rate))] = float32(audio.Gain(db))
	}
	return &source.Sound{Family: source.Own, Channels: [][]float32{x}}
}

// burst makes a loop with a full-scale tone for its first seconds.
func burst(seconds, on float64) *source.Sound {
	x := make([]float32, int(seconds*audio.Rate))
	copy(x[:int(on*audio.Rate)], source.LineUp(0).Channels[0])
	return &source.Sound{Family: source.Own, Channels: [][]float32{x}}
}

func every(period, seconds, db float64) map[float64]float64 {
	m := make(map[float64]float64)
	for i := range int(math.Round(seconds / period)) {
		m[(float64(i)+0.25)*period] = db
	}
	return m
}

func TestLampZones(t *testing.T) {
	tone := source.LineUp(0)
	for _, row := range []struct {
		name   string
		sound  *source.Sound
		over   float64
		flicks int
		zone   Zone
	}{
		{"below the threshold", clicks(12, every(1, 12, 0)), -0.1, 0, ZoneDark},
		{"one click in 12 s", clicks(12, map[float64]float64{1: 0}), 0.1, 1, ZoneSparing},
		{"two in about three seconds are right", clicks(12, every(1.5, 12, 0)), 0.1, 2, ZoneSparing},
		{"three in about three seconds are right", clicks(12, every(1, 12, 0)), 0.1, 3, ZoneSparing},
		{"four in three seconds are usable", clicks(12, every(0.75, 12, 0)), 0.1, 4, ZoneBusy},
		{"five in three seconds are too many", clicks(12, every(0.6, 12, 0)), 0.1, 5, ZoneLit},
		{"faster than the hold: on all the time", clicks(12, every(0.1, 12, 0)), 0.1, 0, ZoneLit},
		{"a tone is on all the time", tone, 0.1, 0, ZoneLit},
		{"two seconds on are no flick, once in six seconds or not", burst(6, 2), 0.1, 1, ZoneLit},
		{"half a second on is", burst(6, 0.5), 0.1, 1, ZoneSparing},
		{"clicks nearer than the hold are one flick", clicks(12, map[float64]float64{1: 0, 1.1: 0, 1.2: 0}), 0.1, 1, ZoneSparing},
		{"clicks farther apart are two", clicks(12, map[float64]float64{1: 0, 1.16: 0}), 0.1, 2, ZoneSparing},
		{"quieter clicks count once they reach the threshold", clicks(12, map[float64]float64{1: 0, 2: -6}), 6.1, 2, ZoneSparing},
		{"and not before", clicks(12, map[float64]float64{1: 0, 2: -6}), 5.9, 1, ZoneSparing},
		{"far below the peak too", clicks(12, map[float64]float64{1: 0, 2: -20}), 20.1, 2, ZoneSparing},
		{"the seam is no boundary of a flick", clicks(12, map[float64]float64{0.05: 0, 11.95: 0}), 0.1, 1, ZoneSparing},
		{"nor of the three seconds", clicks(12, map[float64]float64{0.5: 0, 1: 0, 11: 0, 11.5: 0}), 0.1, 4, ZoneBusy},
		{"a loop shorter than three seconds", clicks(2, map[float64]float64{0.2: 0}), 0.1, 2, ZoneSparing},
	} {
		got := book(row.sound).at(row.over)
		if got.flicks != row.flicks || got.zone() != row.zone {
			t.Errorf("%s: %d flicks, %s (lit %.2f); want %d, %s", row.name, got.flicks, got.zone(), got.share, row.flicks, row.zone)
		}
	}
}

func TestLampRange(t *testing.T) {
	// A click at 0 dB; from 4 dB over the first light four in three seconds,
	// which is busy; from 7 dB over twice as many.
	at := map[float64]float64{0.5: 0}
	for i := range 12 {
		at[float64(i)+0.25], at[float64(i)+0.75] = -4, -7
	}
	sparing, usable := book(clicks(12, at)).lampRange()
	if math.Abs(sparing-3.95) > 0.06 || math.Abs(usable-6.95) > 0.06 {
		t.Errorf("sparing to %v, usable to %v; want 3.9, 6.9", sparing, usable)
	}
	if sparing, usable := book(source.LineUp(-6)).lampRange(); sparing != -0.1 || usable != -0.1 {
		t.Errorf("a tone never flicks: got sparing %v, usable %v", sparing, usable)
	}
}

func book(s *source.Sound) *lampBook {
	peak := new(meter.SamplePeak)
	peak.Process(s.Channels[0])
	return newLampBook(s, peak.Level())
}
