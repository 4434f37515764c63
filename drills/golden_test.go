package drills

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"testing"

	"slowneedle/audio/source"
)

var update = flag.Bool("update", false, "write testdata/rounds/rounds.json and assets/guide/guessing.md again")

const golden = "../testdata/rounds/rounds.json"

// Rounds and exercises come out of their seeds as they did when the file was
// written, on every platform: levels to 0.01 dB, everything else exactly. Where
// the sounds are changed on purpose, write the file again with -update; rounds
// that learners have played then change under them.
func TestGoldenRounds(t *testing.T) {
	var all []any
	add := func(v *Exercise, err error) {
		if err != nil {
			t.Fatal(err)
		}
		b, err := v.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		var plain map[string]any
		if err := json.Unmarshal(b, &plain); err != nil {
			t.Fatal(err)
		}
		delete(plain, "task") // words, with levels in them
		delete(plain, "solution")
		all = append(all, plain)
	}
	for index := range 10 {
		add(plain(1940, index, Settings{}))
	}
	tape := TapeRig()
	for _, f := range source.Generated() {
		add(plain(7, 3, Settings{Family: f}))
		add(NewExercise(SetTake, 1<<63+5, 12, 18, Settings{Family: f, Rig: &tape})) // the hardest sources
	}
	for _, d := range Drills() {
		for _, level := range []int{1, 13} {
			add(NewExercise(d.ID, 1942, level, level, Settings{}))
		}
	}
	if *update {
		b, err := json.MarshalIndent(all, "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(golden, append(b, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	b, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	var want []any
	if err := json.Unmarshal(b, &want); err != nil {
		t.Fatal(err)
	}
	if len(want) != len(all) {
		t.Fatalf("%d rounds in the file, want %d", len(want), len(all))
	}
	for i := range all {
		same(t, fmt.Sprintf("round %d", i), all[i], want[i])
	}
}

// same compares JSON values: numbers to 0.01.
func same(t *testing.T, where string, got, want any) {
	t.Helper()
	switch w := want.(type) {
	case map[string]any:
		g, _ := got.(map[string]any)
		if len(g) != len(w) {
			t.Errorf("%s: %v, want %v", where, got, want)
			return
		}
		for k := range w {
			same(t, where+"."+k, g[k], w[k])
		}
	case []any:
		g, _ := got.([]any)
		if len(g) != len(w) {
			t.Errorf("%s: %v, want %v", where, got, want)
			return
		}
		for i := range w {
			same(t, fmt.Sprintf("%s[%d]", where, i), g[i], w[i])
		}
	case float64:
		if g, ok := got.(float64); !ok || math.Abs(g-w) > 0.01 {
			t.Errorf("%s: %v, want %v within 0.01", where, got, want)
		}
	default:
		if got != want {
			t.Errorf("%s: %v, want %v", where, got, want)
		}
	}
}
