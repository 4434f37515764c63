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
// Debian packages carry, read by the same meters: its quartiles between the
// lowest and the highest twentieth of theirs.
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
			if q[0] < lo-0.1 || q[2] > hi+0.1 {
				t.Errorf("quartiles %.2f and %.2f dB lie outside the recordings' %.2f to %.2f", q[0], q[2], lo, hi)
			}
		})
	}
}
