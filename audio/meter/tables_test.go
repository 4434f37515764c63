package meter_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// row is one row of a table in testdata/meters, by column.
type row map[string]string

// table reads a table from a standard.
func table(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "meters", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) < 2 {
		t.Fatalf("%s holds no rows", name)
	}
	var rows []row
	for _, line := range lines[1:] {
		m := row{}
		for i, v := range line {
			m[lines[0][i]] = v
		}
		rows = append(rows, m)
	}
	return rows
}

// num returns a number of the row.
func (r row) num(t *testing.T, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %q of %v: %v", column, r, err)
	}
	return v
}

// near fails the test unless got is within tolerance of want.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) && got != want {
		t.Errorf("%s: %.4f, want %.4f within %.4f", what, got, want, tolerance)
	}
}

// tone makes a sine; phase in degrees. It turns a phasor, set right every 4096
// frames, which is much quicker than asking for every sine.
func tone(rate int, seconds, hz, amplitude, phase float64) []float32 {
	x := make([]float32, int(math.Round(seconds*float64(rate))))
	sin1, cos1 := math.Sincos(2 * math.Pi * hz / float64(rate))
	var s, c float64
	for i := range x {
		if i%4096 == 0 {
			_, turn := math.Modf(hz * float64(i) / float64(rate))
			s, c = math.Sincos(2 * math.Pi * (turn + phase/360))
		}
		x[i] = float32(amplitude * s)
		s, c = s*cos1+c*sin1, c*cos1-s*sin1
	}
	return x
}

// amplitude of a sine of that level.
func amplitude(dbfs float64) float64 { return math.Pow(10, dbfs/20) }

// db is the level of an amplitude.
func db(amplitude float64) float64 { return 20 * math.Log10(amplitude) }
