//go:build !js

package journal

import (
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// Takes of every drill, right and wrong, are stored; after the journal is
// closed and opened they give the verdict that was stored, to 0.01 dB.
func TestStoredTakesGiveTheStoredVerdict(t *testing.T) {
	path := filepath.Join(memoryDir(t), "journal.db")
	j := open1(t, path)
	when := time.Date(2026, 3, 1, 19, 0, 0, 0, time.UTC)
	stored := 0
	for i, d := range drills.Drills() {
		for k, level := range []int{1, 9, ladder.Top} {
			s := drills.Settings{Family: d.Families[k%len(d.Families)]}
			if k == 1 {
				film := drills.FilmRig()
				s = drills.Settings{Rig: &film, ToleranceDB: 1.5}
			}
			ex, err := drills.NewExercise(d.ID, uint64(1000+i), k, level, s)
			if err != nil && k == 1 { // a drill that is played on tape alone
				s.Rig = nil
				ex, err = drills.NewExercise(d.ID, uint64(1000+i), k, level, s)
			}
			if err != nil {
				t.Fatal(err)
			}
			right := ex.ShowMe()
			for _, take := range []drills.Take{right, off(right, 2.3), off(right, -4.1)} {
				v, err := ex.Judge(take)
				if err != nil {
					t.Fatal(err)
				}
				when = when.Add(time.Minute)
				e, err := Of(ex, s, take, v, when)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := j.Add(e); err != nil {
					t.Fatal(err)
				}
				stored++
			}
		}
	}
	plain, err := drills.NewExercise(drills.SetTake, 77, 3, 0, drills.Settings{}) // off the ladder
	if err != nil {
		t.Fatal(err)
	}
	v, err := plain.Judge(plain.ShowMe())
	if err != nil {
		t.Fatal(err)
	}
	e, err := Of(plain, drills.Settings{}, plain.ShowMe(), v, when)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := j.Add(e); err != nil {
		t.Fatal(err)
	}
	stored++
	j.Close()

	wrong, different := 0, map[drills.Code]bool{}
	for e, err := range open1(t, path).All() {
		if err != nil {
			t.Fatal(err)
		}
		v, err := Rejudge(e)
		if err != nil {
			t.Fatal(err)
		}
		stored--
		same(t, e.Drill, v, e.Verdict)
		different[v.Code] = true
		if !v.InWindow {
			wrong++
		}
	}
	if stored != 0 || wrong < 20 || len(different) < 15 {
		t.Errorf("%d takes were not judged, %d are wrong, %d reasons", stored, wrong, len(different))
	}
}

// off moves every fader of a take, and its answers, away from where they were.
func off(t drills.Take, db float64) drills.Take {
	t.Moves = append([]drills.Move(nil), t.Moves...)
	for i := range t.Moves {
		t.Moves[i].To = math.Round(10*min(max(t.Moves[i].To+db, desk.FaderMin), desk.FaderMax)) / 10
	}
	if t.Number != nil {
		n := math.Max(math.Round(2*(*t.Number+db))/2, 0)
		t.Number = &n
	}
	if t.Choice != nil && db > 0 {
		c := (*t.Choice + 1) % 2
		t.Choice = &c
	}
	return t
}

// same compares two verdicts field by field, numbers to 0.01.
func same(t *testing.T, drill string, got, want drills.Verdict) {
	t.Helper()
	var a, b map[string]any
	for v, m := range map[*drills.Verdict]*map[string]any{&got: &a, &want: &b} {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, m); err != nil {
			t.Fatal(err)
		}
	}
	if len(a) != len(b) {
		t.Errorf("%s: %v, stored %v", drill, a, b)
	}
	for k, x := range a {
		if n, ok := x.(float64); ok {
			if m, ok := b[k].(float64); !ok || math.Abs(n-m) > 0.01 {
				t.Errorf("%s: %s is %v, stored %v", drill, k, x, b[k])
			}
		} else if x != b[k] {
			t.Errorf("%s: %s is %v, stored %v", drill, k, x, b[k])
		}
	}
}

func TestRejudgeSaysWhatIsMissing(t *testing.T) {
	for want, e := range map[string]Entry{
		"recording of the learner's own": {Drill: drills.SetTake, Family: source.Own, Level: 1},
		"settings":                       {Drill: drills.SetTake, Settings: json.RawMessage(`[1]`)},
		"no drill":                       {Drill: "none", Level: 1},
		"family":                         {Drill: drills.SetTake, Settings: json.RawMessage(`{"family":"none"}`)},
	} {
		if _, err := Rejudge(e); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want an error with %q", err, want)
		}
	}
}
