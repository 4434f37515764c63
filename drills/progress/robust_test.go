package progress

import (
	"math"
	"slices"
	"testing"
	"time"

	"slowneedle/audio/source"
)

// An abandoned take at the end makes no trend of a learner who stays as they are.
func TestAbandonedTakeMakesNoTrend(t *testing.T) {
	var b Book
	for i := range 60 {
		e := float64(i%5) - 2
		if i == 58 {
			e = -29
		}
		b.Add(Mark{At: start.AddDate(0, 0, i), Drill: "take", ErrorDB: e})
	}
	s := b.Summary(Key{}, 0)
	if trend, perWeek := s.Trend(); !perWeek || !trend.OK || trend.Excludes(0) || math.Abs(trend.Value) > 0.02 {
		t.Errorf("%+v, by weeks %v", trend, perWeek)
	}
	if s := b.Summary(Key{}, 13); s.Last.Sub(s.First) != 12*24*time.Hour {
		t.Errorf("from %v to %v", s.First, s.Last)
	} else if _, perWeek := s.Trend(); perWeek {
		t.Error("a trend by weeks over less than two")
	}
}

// The masses of NIST/SEMATECH e-Handbook 1.3.5.17.1: by Grubbs' test there, G =
// 2.4687, 245.57 is an outlier; the others are not.
func TestOutlierOfTheHandbook(t *testing.T) {
	masses := []float64{199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57}
	if got := regular(masses); !slices.Equal(got, masses[:7]) {
		t.Errorf("%v", got)
	}
	if got := regular(masses[:7]); len(got) != 7 {
		t.Errorf("without it: %v", got)
	}
}

func TestRegular(t *testing.T) {
	for _, tt := range []struct {
		name  string
		errs  []float64
		wants int
	}{
		{"none", nil, 0},
		{"one", []float64{5}, 1},
		{"all alike", []float64{1, 1, 1, 1}, 4},
		{"an even hand and an error of 5.9 dB", []float64{0, 0.1, 0, -0.1, 5.9}, 5},
		{"of 6 dB", []float64{0, 0.5, 0, -0.5, 6}, 5},
		{"an even hand and an error of 6.1 dB", []float64{0, 0.1, 0, -0.1, 6.1}, 4},
		{"both sides", []float64{-20, 0, 0.5, 1, -0.5, -1, 20}, 5},
		{"a wide hand", []float64{-12, -6, 0, 6, 12}, 5},
		{"just within 3.5", []float64{-2, -1, 0, 1, 2, 7.78}, 6},
		{"just beyond 3.5", []float64{-2, -1, 0, 1, 2, 8.3}, 5},
	} {
		if got := regular(tt.errs); len(got) != tt.wants {
			t.Errorf("%s: %v, want %d of them", tt.name, got, tt.wants)
		}
	}
}

// A take that was abandoned makes no spread and no bias.
func TestAbandonedTake(t *testing.T) {
	usual := evening(start, "desk", source.Steady, 12, 0.5, -0.5, 0, 1)
	abandoned := Mark{At: start, Drill: "desk", Family: source.Steady, ErrorDB: -29}
	with, without := read(usual, []Mark{abandoned}).Summary(Key{}, 0), read(usual).Summary(Key{}, 0)
	near(t, "bias", with.BiasDB.Value, without.BiasDB.Value, 1e-12)
	near(t, "spread", with.SpreadDB.Value, without.SpreadDB.Value, 1e-12)
	if with.Takes != 13 || with.InWindow.Value >= without.InWindow.Value {
		t.Errorf("it is still a take, and a wrong one: %+v", with)
	}
}

// What stands just 6 dB from the middle is no outlier yet, on either side.
func TestOutliersBegin(t *testing.T) {
	for _, c := range []struct {
		far  float64
		kept int
	}{{6, 5}, {6.1, 3}} {
		if got := regular([]float64{0, c.far, 0, -c.far, 0}); len(got) != c.kept {
			t.Errorf("beside three of 0, %v dB to either side: %v are kept", c.far, got)
		}
	}
}
