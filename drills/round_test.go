package drills

import (
	"encoding/json"
	"math"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

// plain makes an exercise of Set the take off the ladder.
func plain(seed uint64, index int, s Settings) (*Exercise, error) {
	return NewExercise(SetTake, seed, index, 0, s)
}

// on returns passages that are always the one sound.
func on(s *source.Sound) func(int, uint64) (*source.Sound, error) {
	return func(int, uint64) (*source.Sound, error) { return s, nil }
}

// onRecording makes one from a recording.
func onRecording(sound *source.Sound, seed uint64, index int, s Settings) (*Exercise, error) {
	s.Passages = on(sound)
	return plain(seed, index, s)
}

// rounds are made once for all tests: a dozen of each family.
var rounds = sync.OnceValue(func() map[source.Family][]*Exercise {
	m := make(map[source.Family][]*Exercise)
	for _, f := range source.Generated() {
		for i := range 12 {
			r, err := plain(7, i, Settings{Family: f})
			if err != nil {
				panic(err)
			}
			m[f] = append(m[f], r)
		}
	}
	return m
})

func eachRound(t *testing.T, check func(t *testing.T, r *Exercise)) {
	for _, f := range source.Generated() {
		t.Run(string(f), func(t *testing.T) {
			for _, r := range rounds()[f] {
				check(t, r)
			}
		})
	}
}

// A round is the same whatever is asked for that it has anyway, and the same
// each time.
func TestRoundFromSeedAlone(t *testing.T) {
	for index := range 10 {
		a, err := plain(3, index, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		b, err := plain(3, index, Settings{Family: a.Family, Rig: &a.Rig})
		if err != nil {
			t.Fatal(err)
		}
		if x, y := marshal(t, a), marshal(t, b); x != y {
			t.Errorf("index %d: %s", index, cmp.Diff(x, y))
		}
	}
}

func TestFamiliesTakeTurns(t *testing.T) {
	n := len(source.Generated())
	for seed := range uint64(20) {
		seen := make(map[source.Family]int)
		for index := range 4 * n {
			seen[Turn(source.Generated(), seed, index)]++
		}
		for _, f := range source.Generated() {
			if seen[f] != 4 {
				t.Errorf("seed %d: %s came %d times in %d rounds, want 4", seed, f, seen[f], 4*n)
			}
		}
	}
}

func marshal(t *testing.T, r *Exercise) string {
	t.Helper()
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// The contract of the command line's round.
func TestRoundJSON(t *testing.T) {
	r := rounds()[source.Struck][0]
	var m map[string]any
	if err := json.Unmarshal([]byte(marshal(t, r)), &m); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"seed", "index", "family", "rig", "start_gain_db", "reading_vu", "sample_peak_dbfs",
		"under_read_db", "aim_db", "window_db", "decided_by"} {
		if _, ok := m[key]; !ok {
			t.Errorf("%s is missing from %v", key, m)
		}
	}
	if rig, _ := m["rig"].(string); rig != r.Rig.String() {
		t.Errorf("rig is %v, want its text form", m["rig"])
	}
}

func TestRoundRefusals(t *testing.T) {
	silent := &source.Sound{Family: source.Own, Channels: [][]float32{make([]float32, 2*audio.Rate)}}
	short := &source.Sound{Family: source.Own, Channels: [][]float32{make([]float32, 100)}}
	bad := Rig{}
	for _, row := range []struct {
		name string
		make func() (*Exercise, error)
	}{
		{"negative index", func() (*Exercise, error) { return plain(1, -1, Settings{}) }},
		{"unknown family", func() (*Exercise, error) { return plain(1, 0, Settings{Family: "brass"}) }},
		{"own without a recording", func() (*Exercise, error) { return plain(1, 0, Settings{Family: source.Own}) }},
		{"rig that is none", func() (*Exercise, error) { return plain(1, 0, Settings{Rig: &bad}) }},
		{"silent passage", func() (*Exercise, error) { return onRecording(silent, 1, 0, Settings{}) }},
		{"short passage", func() (*Exercise, error) { return onRecording(short, 1, 0, Settings{}) }},
		{"a passage of nothing", func() (*Exercise, error) { return onRecording(&source.Sound{}, 1, 0, Settings{}) }},
		{"recording on the line-up", func() (*Exercise, error) {
			return NewExercise(LineUp, 1, 0, 1, Settings{Passages: on(rounds()[source.Voice][0].Channels[0].Sound)})
		}},
	} {
		if r, err := row.make(); err == nil || r != nil {
			t.Errorf("%s: got %v, %v", row.name, r, err)
		}
	}
}

// A recording some dB louder asks for the same take some dB lower.
func TestGainShift(t *testing.T) {
	own := rounds()[source.Voice][0].Channels[0].Sound
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.Float64Range(-30, 0).Draw(t, "gain")
		louder := &source.Sound{Family: source.Own, Channels: [][]float32{make([]float32, own.Len())}}
		by := float32(audio.Gain(g))
		for i, x := range own.Channels[0] {
			louder.Channels[0][i] = x * by
		}
		rig := TapeRig()
		if rapid.Bool().Draw(t, "digital") {
			rig = DigitalRig()
		}
		a, err := onRecording(own, 1, 0, Settings{Rig: &rig})
		if err != nil {
			t.Fatal(err)
		}
		b, err := onRecording(louder, 1, 0, Settings{Rig: &rig})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range []float64{a.Channels[0].StartGainDB - g - b.Channels[0].StartGainDB, a.Channels[0].ReadingVU - b.Channels[0].ReadingVU,
			a.Channels[0].SamplePeakDBFS - b.Channels[0].SamplePeakDBFS, a.Channels[0].AimDB - b.Channels[0].AimDB, a.Channels[0].WindowDB[1] - b.Channels[0].WindowDB[1]} {
			if math.Abs(d) > 0.01 {
				t.Fatalf("%g dB: %+v against %+v", g, a.Channels[0], b.Channels[0])
			}
		}
	})
}

// Of two channels the higher is read, and the lamp sees both.
func TestOwnStereo(t *testing.T) {
	loud := rounds()[source.Plucked][0].Channels[0].Sound.Channels[0]
	quiet := make([]float32, len(loud))
	for i, x := range loud {
		quiet[i] = x / 2
	}
	rig := TapeRig()
	one, err := onRecording(&source.Sound{Family: source.Own, Channels: [][]float32{loud}}, 1, 0, Settings{Rig: &rig})
	if err != nil {
		t.Fatal(err)
	}
	for _, channels := range [][][]float32{{loud, quiet}, {quiet, loud}} {
		r, err := onRecording(&source.Sound{Family: source.Own, Channels: channels}, 1, 0, Settings{Rig: &rig})
		if err != nil {
			t.Fatal(err)
		}
		if x, y := marshal(t, r), marshal(t, one); x != y {
			t.Errorf("with a quieter channel beside it: %s", cmp.Diff(y, x))
		}
	}
}
