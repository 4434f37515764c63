package source

import (
	"encoding/csv"
	"os"
	"slices"
	"strconv"
	"testing"
)

// recordings reads the under-reads of recordings by family.
func recordings(t *testing.T) map[Family][]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/sources/real.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	of := map[Family][]float64{}
	for _, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[4], 64)
		if err != nil {
			t.Fatal(err)
		}
		of[Family(row[0])] = append(of[Family(row[0])], v)
	}
	return of
}

// Each family lies within the spread of recordings and played samples that
// Debian packages carry, read by the same meters: its median within the middle
// nine tenths of theirs, its quartiles between their extremes. The voices sit
// low in it: common practice says 6 dB, prompts as recorded show about 11, and
// the same prompts through a limiter about 7.
func TestAgainstRecordings(t *testing.T) {
	all := recordings(t)
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			theirs := slices.Sorted(slices.Values(all[f]))
			if len(theirs) < 10 {
				t.Fatalf("only %d recordings", len(theirs))
			}
			var u []float64
			for _, m := range survey(f) {
				u = append(u, m.under)
			}
			lo, hi := theirs[len(theirs)/20], theirs[len(theirs)-1-len(theirs)/20]
			q := quartiles(u)
			r := quartiles(theirs)
			t.Logf("generated: quartiles %.1f, %.1f, %.1f dB; %d recordings: %.1f, %.1f, %.1f, nine tenths from %.1f to %.1f",
				q[0], q[1], q[2], len(theirs), r[0], r[1], r[2], lo, hi)
			if q[1] < lo || q[1] > hi {
				t.Errorf("the median %.2f dB lies outside nine tenths of the recordings, %.2f to %.2f", q[1], lo, hi)
			}
			const half = 0.005 // of the step in which the recordings are written down; a pure tone is at the end of its family
			if least, most := theirs[0], theirs[len(theirs)-1]; q[0] < least-half || q[2] > most+half {
				t.Errorf("quartiles %.2f and %.2f dB lie outside all recordings, %.2f to %.2f", q[0], q[2], least, most)
			}
		})
	}
}
