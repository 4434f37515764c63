package main

import (
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
	if slow := r.slowest(); slow.part() != "voice" || slow.value != 7.5e6 {
		t.Errorf("the slowest is %v %q, want the better run of voice", slow, slow.part())
	}
	if x := r.best("x-real-time", most); x.value != 111.5 || x.part() != "BenchmarkPull" {
		t.Errorf("real time: %v", x)
	}
	if a := r.best("allocs/op", most); a.value != 2 {
		t.Errorf("allocations: %v, want the most", a)
	}
	for _, bad := range []string{"", "PASS\n", "BenchmarkX 1 many ns/op\n"} {
		if _, err := parseBench(bad); err == nil {
			t.Errorf("%q is read as benchmarks", bad)
		}
	}
}

func TestParseHeard(t *testing.T) {
	ms, err := parseHeard("    device_test.go:280: heard position less recorded position, ms: [-3.0 4.0 -12.5]\n")
	if err != nil || ms != 3 {
		t.Errorf("%v, %v; want 3", ms, err)
	}
	for _, bad := range []string{"", "heard position less recorded position, ms: []", "heard position less recorded position, ms: [a]", "heard position less recorded position, ms: [1"} {
		if _, err := parseHeard(bad); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
}

// Every budget names what it measures by; a benchmark that is gone would show
// in a table only.
func TestBudgetsNameWhatExists(t *testing.T) {
	inProject(t)
	for line, name := range map[string]string{
		"audio/desk/speed_test.go":    "func BenchmarkPull(",
		"drills/bench_test.go":        "func BenchmarkRound(",
		"audio/measure/bench_test.go": "func BenchmarkRatio(",
		"audio/output/device_test.go": "func TestHeardIsHeard(",
		"game/probe.go":               `note("pace"`,
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
