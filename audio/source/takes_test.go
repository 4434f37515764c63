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
			n := 40
			if testing.Short() {
				n = 20
			}
			var growth []float64
			for seed := range uint64(n) {
				s, err := Request{Family: f, Seed: seed, Seconds: 60}.Generate()
				if err != nil {
					t.Fatal(err)
				}
				if sec := float64(s.Len()) / audio.Rate; sec < 55 || sec > 60 {
					t.Errorf("seed %d, %s: %.1f s", seed, s.Kind, sec)
				}
				peak := func(from, to int) (top float64) {
					for _, x := range s.Channels {
						for _, v := range x[from:to] {
							top = max(top, math.Abs(float64(v)))
						}
					}
					return top
				}
				growth = append(growth, audio.DB(peak(12*audio.Rate, s.Len())/peak(0, 12*audio.Rate)))
				if f != Steady {
					if end := audio.DB(peak(s.Len()-audio.Rate/10, s.Len()) / peak(0, s.Len())); end > -20 {
						t.Errorf("seed %d, %s: its last 0.1 s lie %.1f dB below the peak: no ending", seed, s.Kind, end)
					}
				}
			}
			slices.Sort(growth)
			median, high := growth[n/2], growth[n*9/10]
			t.Logf("growth: 10th percentile %.1f dB, median %.1f, 90th %.1f", growth[n/10], median, high)
			if median < 0.5 || median > 1.9 || high < 2 || high > 4.5 {
				t.Errorf("growth of %.1f dB in the median, %.1f at the 90th percentile", median, high)
			}
		})
	}
}
