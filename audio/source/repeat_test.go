package source

import (
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"runtime"
	"slices"
	"strconv"
	"testing"

	"slowneedle/audio"
)

var writeLevels = flag.Bool("levels", false, "write testdata/sources/levels.csv again")

// The levels of some sounds, as an amd64 machine made them, come out the same
// on every machine to 0.01 dB.
func TestSameEverywhere(t *testing.T) {
	const path = "../../testdata/sources/levels.csv"
	read := func(f Family, seed uint64, d Difficulty) []string {
		s, err := Generate(f, seed, d)
		if err != nil {
			t.Fatal(err)
		}
		row := []string{string(f), fmt.Sprint(seed), fmt.Sprint(d.Irregular), s.Kind, fmt.Sprint(s.Len())}
		for i := range 4 {
			sum, top := 0.0, 0.0
			for _, v := range s.Channels[0][i*s.Len()/4 : (i+1)*s.Len()/4] {
				sum += float64(v) * float64(v)
				top = max(top, math.Abs(float64(v)))
			}
			row = append(row, fmt.Sprintf("%.4f", 10*math.Log10(4*sum/float64(s.Len())+1e-12)), fmt.Sprintf("%.4f", audio.DB(top+1e-6)))
		}
		return row
	}
	if *writeLevels {
		f, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(f, "# Levels of the quarters of generated sounds, RMS and peak in dB re full scale, as made on amd64; other machines agree to 0.01 dB.")
		w := csv.NewWriter(f)
		w.Write([]string{"family", "seed", "difficulty", "kind", "frames", "rms_1", "peak_1", "rms_2", "peak_2", "rms_3", "peak_3", "rms_4", "peak_4"})
		for _, fam := range Generated() {
			for seed := range uint64(12) {
				d := float64(seed%3) / 2
				w.Write(read(fam, 1000+seed, Difficulty{d, d, d}))
			}
		}
		w.Flush()
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	rows := table(t, "levels.csv")
	for _, row := range rows[1:] {
		seed, _ := strconv.ParseUint(row[1], 10, 64)
		d, _ := strconv.ParseFloat(row[2], 64)
		got := read(Family(row[0]), seed, Difficulty{d, d, d})
		if !slices.Equal(got[:5], row[:5]) {
			t.Errorf("%v, want %v", got, row)
		}
		for i := 5; i < 13; i++ {
			a, _ := strconv.ParseFloat(got[i], 64)
			b, _ := strconv.ParseFloat(row[i], 64)
			if math.Abs(a-b) > 0.01 {
				t.Errorf("%v: level %s, want %s", got[:4], got[i], row[i])
			}
		}
	}
}

// The same arguments give the same samples, however many processors share the
// work.
func TestSameTwice(t *testing.T) {
	procs := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(procs)
	for _, f := range Generated() {
		for seed := range uint64(8) {
			d := Difficulty{0.3, 0.3, 0.3}
			runtime.GOMAXPROCS(4)
			a, _ := Generate(f, seed, d)
			runtime.GOMAXPROCS(1)
			b, _ := Generate(f, seed, d)
			if a.Kind != b.Kind || !slices.Equal(a.Channels[0], b.Channels[0]) {
				t.Errorf("%s %d: %s and %s differ", f, seed, a.Kind, b.Kind)
			}
		}
	}
}

// No two rounds are alike: sounds of neighbouring seeds are hardly correlated.
func TestUnlike(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			for seed, m := range survey(f) {
				if math.Abs(m.like) > 0.5 {
					t.Errorf("seeds %d and %d, the second %s: correlation %.2f", seed-1, seed, m.full, m.like)
				}
			}
		})
	}
}
