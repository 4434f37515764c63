package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Lines as go test -bench prints them.
const benchOutput = `goos: linux
pkg: slowneedle/drills
BenchmarkRound/steady-2         	     100	  2000000 ns/op	  10 B/op	       0 allocs/op
BenchmarkRound/voice-2          	      50	  9000000 ns/op	  10 B/op	       2 allocs/op
BenchmarkRound/voice-2          	      50	  7500000 ns/op	  10 B/op	       2 allocs/op
BenchmarkPull 	   12345	     90000 ns/op	       111.5 x-real-time	       0 B/op	       0 allocs/op
PASS
`

func TestParseBench(t *testing.T) {
	r, err := parseBench(benchOutput)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		unit   string
		higher bool
		value  float64
		part   string
	}{
		{"ms/op", false, 7.5, " (voice)"}, // the better run of the slowest
		{"x-real-time", true, 111.5, ""},
		{"allocs/op", false, 2, " (voice)"},
	} {
		if value, part, ok := r.worst(c.unit, c.higher); value != c.value || part != c.part || !ok {
			t.Errorf("%s: %v%s, %v; want %v%s", c.unit, value, part, ok, c.value, c.part)
		}
	}
	if one, err := parseBench("BenchmarkCheck/tape-2 1 3 s\n"); err != nil {
		t.Error(err)
	} else if _, part, _ := one.worst("s", false); part != "" {
		t.Errorf("of one benchmark alone the part is told: %q", part)
	}
	if _, _, ok := r.worst("MB", false); ok {
		t.Error("a figure that nothing reports is read")
	}
	for _, bad := range []string{"", "PASS\n", "BenchmarkX 1 many ns/op\n"} {
		if _, err := parseBench(bad); err == nil {
			t.Errorf("%q is read as benchmarks", bad)
		}
	}
}

func TestVerdictOnABudget(t *testing.T) {
	r, err := parseBench(benchOutput)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		unit, format string
		promise
		want string
	}{
		{"ms/op", "%.1f ms", most(16), "at most 16.0 ms|7.5 ms (voice)|kept"},
		{"ms/op", "%.0f ms", most(7), "at most 7 ms|8 ms (voice)|over"},
		{"ms/op", "%.1f ms", most(7.5), "at most 7.5 ms|7.5 ms (voice)|kept"},
		{"x-real-time", "%.1f", least(111.5), "at least 111.5|111.5|kept"},
		{"x-real-time", "%.0f", least(100), "at least 100|112|kept"},
		{"x-real-time", "%.0f", least(112), "at least 112|112|over"},
		{"allocs/op", "%.0f", most(0), "at most 0|2 (voice)|over"},
		{"ms/op", "%.1f ms", promise{}, "-|7.5 ms (voice)|-"},
		{"MB", "%.1f MB", most(4), "at most 4.0 MB|not measured|-"},
	} {
		budget, value, verdict := budget{unit: c.unit, format: c.format, promise: c.promise}.row(r)
		if got := budget + "|" + value + "|" + verdict; got != c.want {
			t.Errorf("%s: %q, want %q", c.unit, got, c.want)
		}
	}
}

// The benchmark of every budget exists; one that is gone would show in a table only.
func TestBudgetsNameWhatExists(t *testing.T) {
	inProject(t)
	for _, b := range budgets {
		f := strings.Fields(b.bench)
		files, err := filepath.Glob(filepath.Join(f[0], "*_test.go"))
		if err != nil {
			t.Fatal(err)
		}
		name, _, _ := strings.Cut(strings.Trim(f[1], "^$"), "$")
		var reports bool
		for _, path := range files {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			reports = reports || strings.Contains(string(text), "func "+name+"(")
		}
		if !reports {
			t.Errorf("%s: there is no %s in %s", b.what, name, f[0])
		}
	}
}
