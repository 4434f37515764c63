package main

import (
	"errors"
	"os"
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
		f     wanted
		value float64
		part  string
	}{
		{atMost(16, "ms/op", ""), 7.5, " (voice)"}, // the better run of the slowest
		{atLeast(100, "x-real-time", ""), 111.5, ""},
		{atMost(0, "allocs/op", ""), 2, " (voice)"},
	} {
		if value, part, err := r.worst(c.f); value != c.value || part != c.part || err != nil {
			t.Errorf("%s: %v%s, %v; want %v%s", c.f.unit, value, part, err, c.value, c.part)
		}
	}
	if _, _, err := r.worst(also("MB", "")); err == nil {
		t.Error("a figure that nothing reports is read")
	}
	for _, bad := range []string{"", "PASS\n", "BenchmarkX 1 many ns/op\n"} {
		if _, err := parseBench(bad); err == nil {
			t.Errorf("%q is read as benchmarks", bad)
		}
	}
}

func TestVerdictOnABudget(t *testing.T) {
	measure := func() (results, error) { return parseBench(benchOutput) }
	slow := atMost(16, "ms/op", "%.1f ms")
	for _, c := range []struct {
		name              string
		b                 budget
		measured, verdict string
	}{
		{"kept", budget{promise: "yes", measure: measure, figures: []wanted{slow, also("allocs/op", "%.0f allocations")}}, "7.5 ms (voice), 2 allocations (voice)", "kept"},
		{"slower than promised", budget{promise: "yes", measure: measure, figures: []wanted{atMost(7, "ms/op", "%.0f"), atLeast(100, "x-real-time", "%.0f x")}}, "8 (voice), 112 x", "over"},
		{"less than promised", budget{promise: "yes", measure: measure, figures: []wanted{atLeast(112, "x-real-time", "%.0f x")}}, "112 x", "over"},
		{"no promise", budget{measure: measure, figures: []wanted{slow}}, "7.5 ms (voice)", "-"},
	} {
		if measured, verdict, err := c.b.row(); measured != c.measured || verdict != c.verdict || err != nil {
			t.Errorf("%s: %q, %q, %v", c.name, measured, verdict, err)
		}
	}
	broken := budget{measure: func() (results, error) { return nil, errors.New("no display") }}
	if _, _, err := broken.row(); err == nil {
		t.Error("what could not be measured has a verdict")
	}
}

// Every budget names what it measures by; a benchmark that is gone would show
// in a table only.
func TestBudgetsNameWhatExists(t *testing.T) {
	inProject(t)
	for line, name := range map[string]string{
		"audio/desk/speed_test.go":     "func BenchmarkPull(",
		"drills/bench_test.go":         "func BenchmarkRound(",
		"drills/series/series_test.go": "func BenchmarkJudge(",
		"audio/measure/bench_test.go":  "func BenchmarkRatio(",
		"audio/output/device_test.go":  "func BenchmarkHeardIsHeard(",
		"game/window/speed_test.go":    "func BenchmarkWindow(",
	} {
		data, err := os.ReadFile(line)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(data), name) {
			t.Errorf("%s has no %s", line, name)
		}
	}
}
