package drills

import (
	"math"
	"strings"
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

// steady makes a loop at full scale for its first frames.
func steady(seconds float64, frames int) *source.Sound {
	x := make([]float32, int(seconds*audio.Rate))
	for i := range x[:frames] {
		x[i] = 1
	}
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
		{"a click that just reaches the threshold", clicks(12, map[float64]float64{1: 0}), 0, 1, ZoneSparing},
		{"one click in 12 s", clicks(12, map[float64]float64{1: 0}), 0.1, 1, ZoneSparing},
		{"two in about three seconds are right", clicks(12, every(1.5, 12, 0)), 0.1, 2, ZoneSparing},
		{"three in about three seconds are right", clicks(12, every(1, 12, 0)), 0.1, 3, ZoneSparing},
		{"four in three seconds are usable", clicks(12, every(0.75, 12, 0)), 0.1, 4, ZoneBusy},
		{"five in three seconds are too many", clicks(12, every(0.6, 12, 0)), 0.1, 5, ZoneLit},
		{"faster than the hold: on all the time", clicks(12, every(0.1, 12, 0)), 0.1, 0, ZoneLit},
		{"a tone is on all the time", tone, 0.1, 0, ZoneLit},
		{"two seconds on are no flick, once in six seconds or not", burst(6, 2), 0.1, 1, ZoneLit},
		{"on for a little over half of three seconds, the hold included", burst(6, 1.4), 0.1, 1, ZoneLit},
		{"on for a little less than half of them", burst(6, 1.3), 0.1, 1, ZoneSparing},
		{"on for just half of them, 1.35 s and the hold", steady(6, 64800), 0.1, 1, ZoneSparing},
		{"and for one frame more", steady(6, 64801), 0.1, 1, ZoneLit},
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

// Where the lamp should be: half of the sparing span above the first flash, at
// most 1.5 dB; 0.1 dB below it where the lamp is never sparing.
func TestLampAim(t *testing.T) {
	// A click at 0 dB; from so many dB over the first light four in three seconds,
	// which is busy.
	from := func(db float64) *source.Sound {
		at := map[float64]float64{0.5: 0}
		for i := range 12 {
			at[float64(i)+0.25] = -db
		}
		return clicks(12, at)
	}
	for _, row := range []struct {
		name      string
		sound     *source.Sound
		span, aim float64
	}{
		{"busy from just over 0.1 dB on", from(0.15), 0.1, 0.05},
		{"busy from 2 dB on", from(2.05), 2, 1},
		{"busy from 2.9 dB on", from(2.95), 2.9, 1.45},
		{"busy from 6 dB on", from(6.05), 6, 1.5},
		{"one click only, as far as settings are tried", clicks(12, map[float64]float64{1: 0}), 40, 1.5},
		{"busy at once", clicks(12, every(0.75, 12, 0)), 0, -0.1},
		{"a tone never flashes", source.LineUp(-6), 0, -0.1},
	} {
		p := book(row.sound)
		if math.Abs(p.span-row.span) > 0.01 || math.Abs(p.aim()-row.aim) > 0.01 {
			t.Errorf("%s: sparing over %v dB, aim %v dB above the first flash; want %v, %v", row.name, p.span, p.aim(), row.span, row.aim)
		}
	}
}

// A passage is too quiet to work with if its peak lies below -80 dBFS.
func TestTooQuiet(t *testing.T) {
	for _, row := range []struct {
		peak float64
		made bool
	}{{-79.9, true}, {-80.1, false}, {-80.9, false}} {
		x := make([]float32, 8*audio.Rate)
		for i := range x {
			x[i] = float32(audio.Gain(row.peak) * math.Sin(2*math.Pi*float64(i)/48))
		}
		_, err := onRecording(&source.Sound{Family: source.Own, Channels: [][]float32{x}}, 1, 0, Settings{})
		if (err == nil) != row.made || err != nil && !strings.Contains(err.Error(), "below -80 dBFS") {
			t.Errorf("a tone at %v dBFS: %v", row.peak, err)
		}
	}
}

func book(s *source.Sound) *lampProfile {
	peak := new(meter.SamplePeak)
	peak.Process(s.Channels[0])
	return newLampProfile(s, peak.Level())
}
