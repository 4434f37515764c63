package source

import (
	"math"
	"slices"
	"strconv"
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

// recordedGrowth is growth.csv, sorted: of voices, or of music.
func recordedGrowth(t *testing.T, voice bool) (all []float64) {
	t.Helper()
	for _, row := range table(t, "growth.csv")[1:] {
		if voice == (row[0] == string(Voice)) {
			db, err := strconv.ParseFloat(row[3], 64)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, db)
		}
	}
	slices.Sort(all)
	return all
}

// Takes have a form: they last as long as asked for, and end.
func TestTakes(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			for seed, m := range takes(f) {
				if sec := float64(m.frames) / audio.Rate; sec < 55 || sec > 60 {
					t.Errorf("seed %d, %s: %.1f s", seed, m.full, sec)
				}
				if f != Steady && m.ending > -20 {
					t.Errorf("seed %d, %s: its last 0.1 s lie %.1f dB below the peak: no ending", seed, m.full, m.ending)
				}
			}
		})
	}
}

// Takes grow after their first 12 s as recordings do: median and 90th percentile are what
// recordings have there, give or take two standard errors of a share of so many takes.
func TestGrowth(t *testing.T) {
	if testing.Short() {
		return // too few takes to tell
	}
	for _, voice := range []bool{true, false} {
		var growth []float64
		for _, f := range Generated() {
			if voice == (f == Voice) {
				for _, m := range takes(f) {
					growth = append(growth, m.growth)
				}
			}
		}
		slices.Sort(growth)
		recorded := recordedGrowth(t, voice)
		at := func(v []float64, share float64) float64 { return v[max(0, min(len(v)-1, int(share*float64(len(v)))))] }
		for _, share := range []float64{0.5, 0.9} {
			off := 2 * math.Sqrt(share*(1-share)/float64(len(growth)))
			got, low, high := at(growth, share), at(recorded, share-off), at(recorded, share+off)
			t.Logf("voice %v: the %.0f %% point of %d takes is %.2f dB, of %d recordings %.2f", voice, 100*share, len(growth), got, len(recorded), at(recorded, share))
			if got < low || got > high {
				t.Errorf("voice %v: the %.0f %% point of takes is %.2f dB, want %.2f to %.2f", voice, 100*share, got, low, high)
			}
		}
	}
}
