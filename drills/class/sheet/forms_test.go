package sheet

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/testform"
)

// formsOn makes the forms on recordings that sox writes: hits of noise, plucked
// strings that die away in turns, and a sweep that is shorter than a round.
func formsOn(t *testing.T, set uint32) []Sheet {
	t.Helper()
	dir := t.TempDir()
	var list []Recording
	for _, r := range []struct{ name, synth string }{
		{"noise.wav", "synth 0.03 pinknoise pad 0 0.4 repeat 150"},
		{"strings.wav", "synth 0.7 pluck A3 synth 0.7 pluck mix E4 repeat 80"},
		{"sweep.flac", "synth 9 triangle 300-1500 tremolo 2 60"},
	} {
		path := filepath.Join(dir, r.name)
		args := append([]string{"-R", "-D", "-n", "-r", "44100", "-b", "16", path}, strings.Fields(r.synth)...)
		if out, err := exec.Command("sox", args...).CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rec, err := Choose(r.name, data)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, rec)
	}
	forms, err := NewForms(set, list, Folder(dir))
	if err != nil {
		t.Fatal(err)
	}
	return forms
}

// Forms on recordings are equivalent: round by round the same recording, the same rig and
// the same of needle and peaks decides, no round is in two forms, and a simulated hand
// (invented: it errs by a bias on each recording, with the under-read, with the fader's travel and where the
// peaks decide) has the same mean error on two forms to less than 0.1 dB, without chance
// each single hand, and with it the mean of 10,000 hands.
func TestFormsOnRecordings(t *testing.T) {
	for _, set := range []uint32{1, 4711} {
		forms := formsOn(t, set)
		rounds := make([][]*drills.Exercise, len(forms))
		seen, decided := map[int]bool{}, map[drills.Decider]bool{}
		for f, s := range forms {
			for i := range s.Rounds {
				e, err := s.Exercise(i)
				if err != nil {
					t.Fatal(err)
				}
				rounds[f] = append(rounds[f], e)
				a := rounds[0][i]
				if name := s.Recordings[i%3].Name; e.Channels[0].Sound.Kind != name || e.Family != source.Own || e.Drill.ID != drills.SetTake {
					t.Errorf("set %d, form %s, round %d is %s on %s, want it on %s", set, s.Form, i+1, e.Drill.ID, e.Channels[0].Sound.Kind, name)
				}
				if e.DecidedBy != a.DecidedBy || e.Rig.String() != a.Rig.String() || e.Rig.ToleranceDB != testform.ToleranceDB || seen[e.Index] {
					t.Errorf("set %d, form %s, round %d: %s decides on %s within %v dB", set, s.Form, i+1, e.DecidedBy, e.Rig, e.Rig.ToleranceDB)
				}
				seen[e.Index], decided[e.DecidedBy] = true, true
			}
			if !s.Settings(0).Reserved {
				t.Error("its takes would count as practice")
			}
		}
		if len(decided) != 2 {
			t.Errorf("set %d: %v decide; the check needs needle and peaks", set, decided)
		}
		for _, p := range [][2]int{{0, 1}, {0, 2}, {1, 2}} {
			rng := rand.New(rand.NewPCG(uint64(set), 7))
			var bias, size, worst float64
			const hands = 10_000
			for range hands {
				recording := map[string]float64{"noise.wav": rng.NormFloat64(), "strings.wav": rng.NormFloat64(), "sweep.flac": rng.NormFloat64()}
				under, reach, peaks, spread := 0.15*rng.NormFloat64(), 0.1*rng.NormFloat64(), rng.NormFloat64(), 0.6+1.2*rng.Float64()
				var tends, sizes [2]float64
				for k, f := range p {
					for _, e := range rounds[f] {
						c := e.Channels[0]
						x := recording[c.Sound.Kind] + under*(c.UnderReadDB-8) + reach*(c.AimDB+7)
						if e.DecidedBy != drills.ByNeedle {
							x += peaks
						}
						tends[k] += x / testform.Rounds
						x += spread * rng.NormFloat64()
						sizes[k] += math.Abs(x) / testform.Rounds
						bias += x * float64(1-2*k) / testform.Rounds / hands
					}
				}
				size += (sizes[0] - sizes[1]) / hands
				worst = max(worst, math.Abs(tends[0]-tends[1]))
			}
			t.Logf("set %d, %s less %s: mean error %+.3f dB, mean size %+.3f dB, a single hand without chance up to %.3f dB",
				set, forms[p[0]].Form, forms[p[1]].Form, bias, size, worst)
			if math.Abs(bias) >= 0.1 || math.Abs(size) >= 0.1 || worst >= 0.1 {
				t.Errorf("set %d: forms %s and %s differ", set, forms[p[0]].Form, forms[p[1]].Form)
			}
		}
	}
}

// A form on recordings reads back from its file as it is; its code has form and set, and
// only the file the rounds.
func TestFormOnRecordingsAsFile(t *testing.T) {
	codes := map[string]bool{}
	on := []Recording{{Name: "noise.wav", SHA256: strings.Repeat("0", 64), Passages: []source.Place{{At: 7, Frames: 480000}}}}
	for f, form := range testform.Forms {
		s := Sheet{Seed: 3, Form: form, Recordings: on}
		for i := range testform.Rounds {
			s.Index = append(s.Index, 3*i+f)
		}
		s, err := s.Canonical()
		if err != nil {
			t.Fatal(err)
		}
		text, err := s.File()
		if err != nil {
			t.Fatal(err)
		}
		back, err := Parse(text)
		if diff := cmp.Diff(s, back, cmpopts.IgnoreFields(Sheet{}, "Content")); err != nil || diff != "" {
			t.Errorf("form %s: %v %s", s.Form, err, diff)
		}
		code, err := s.Code()
		if err != nil || codes[code] {
			t.Errorf("form %s: code %q, error %v", s.Form, code, err)
		}
		codes[code] = true
		coded, err := ParseCode(code)
		if err != nil || coded.Form != s.Form || coded.Seed != 3 || !coded.Recorded || coded.Recordings != nil {
			t.Errorf("%s stands for %+v, %v", code, coded, err)
		}
		if _, err := coded.Exercise(0); err == nil || !strings.Contains(err.Error(), "recordings that are not here") {
			t.Errorf("a round without recordings: %v", err)
		}
		if plain, err := NewForm(3, s.Form); err != nil || plain.SameSet(s) || !back.SameSet(s) {
			t.Errorf("form %s: it is of the set of generated forms, or not of its own", s.Form)
		}
		for _, c := range []struct{ old, new, says string }{
			{`"index": [`, `"index": [-1,`, "index: there is -1"},
			{`"index": [`, `"index": [9998,`, "index: there are 21"},
			{`"index": [`, `"rounds": [`, "rounds"},
			{`"seed": 3`, `"seed": 3, "level": 3`, "leave out the rest"},
			{`"seed": 3`, `"seed": 8388608`, "seed: 8388608 is out of range"},
			{`"form": "` + string(s.Form), `"form": "D`, "there is no form"},
			{`"recordings"`, `"index": [], "recordings"`, "index"},
		} {
			if _, err := Parse([]byte(strings.Replace(string(text), c.old, c.new, 1))); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("with %s: error %v", c.new, err)
			}
		}
	}
	for _, text := range []string{
		`{"format": "slowneedle sheet 2", "form": "A", "seed": 3, "index": [1, 2]}`,
		`{"format": "slowneedle sheet 2", "form": "A", "seed": 3, "recordings": [{"name": "a.wav", "sha256": "` + strings.Repeat("0", 64) + `", "passages": [{"at": 0, "frames": 48000}]}]}`,
	} {
		if _, err := Parse([]byte(text)); err == nil || !strings.Contains(err.Error(), "index") {
			t.Errorf("%s: %v", text, err)
		}
	}
}
