package source

import (
	"math"
	"slices"
	"testing"
	"time"

	"slowneedle/audio"
)

// A sound made in slices is the one made in one go.
func TestSlices(t *testing.T) {
	for _, f := range Generated() {
		for _, r := range []Request{{Family: f, Seed: 3}, {Family: f, Seed: 4, Reserved: true}, {Family: f, Seed: 5, Seconds: 45}} {
			whole, err := r.Generate()
			if err != nil {
				t.Fatal(err)
			}
			count, longest, begin := 0, time.Duration(0), time.Now()
			r.Pause = func() {
				count++
				longest = max(longest, time.Since(begin))
				begin = time.Now()
			}
			s, err := r.Generate()
			if err != nil {
				t.Fatal(err)
			}
			if s.Kind != whole.Kind || s.Raw != whole.Raw || len(s.Channels) != len(whole.Channels) {
				t.Fatalf("%+v: %s in slices, %s in one go", r, s.Kind, whole.Kind)
			}
			for c := range s.Channels {
				if !slices.Equal(s.Channels[c], whole.Channels[c]) {
					t.Errorf("%s %d: channel %d differs", f, r.Seed, c)
				}
			}
			if count < 30 {
				t.Errorf("%s %d: only %d slices", f, r.Seed, count)
			}
			t.Logf("%s: %d slices, the longest %v", s.Kind, count, longest)
		}
	}
}

func TestRequestRefusals(t *testing.T) {
	if _, err := (Request{Family: Own}).Generate(); err == nil {
		t.Error("a family that is not generated is accepted")
	}
	for _, s := range []float64{5, 61, -1, math.NaN()} {
		if _, err := (Request{Family: Voice, Seconds: s}).Generate(); err == nil {
			t.Errorf("a take of %g s is accepted", s)
		}
	}
}

// Takes have a form: they grow after their first 12 s as recordings do, and end.
// Recordings grow by 1.1 dB in the median and by 3.3 dB at the 90th percentile (152
// windows of music), voices by 1.2 and 2.5.
func TestTakes(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			var growth []float64
			for seed, m := range takes(f) {
				if sec := float64(m.frames) / audio.Rate; sec < 55 || sec > 60 {
					t.Errorf("seed %d, %s: %.1f s", seed, m.full, sec)
				}
				growth = append(growth, m.growth)
				if f != Steady && m.ending > -20 {
					t.Errorf("seed %d, %s: its last 0.1 s lie %.1f dB below the peak: no ending", seed, m.full, m.ending)
				}
			}
			n := len(growth)
			slices.Sort(growth)
			median, high := growth[n/2], growth[n*9/10]
			t.Logf("growth: 10th percentile %.1f dB, median %.1f, 90th %.1f", growth[n/10], median, high)
			if median < 0.5 || median > 1.9 || high < 2 || high > 4.5 {
				t.Errorf("growth of %.1f dB in the median, %.1f at the 90th percentile", median, high)
			}
		})
	}
}
