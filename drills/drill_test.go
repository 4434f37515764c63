package drills

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// made keeps what some has made: tests look at the exercises and leave them as they are.
var made = map[string][]*Exercise{}

// some are a few exercises of a drill, from all over the ladder.
func some(t *testing.T, id string) []*Exercise {
	t.Helper()
	if all, ok := made[id]; ok {
		return all
	}
	var all []*Exercise
	for i, level := range []int{1, 4, 5, 8, 12, 16, ladder.Top} {
		e, err := NewExercise(id, 5, i, level, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	made[id] = all
	return all
}

func eachExercise(t *testing.T, check func(t *testing.T, e *Exercise)) {
	for _, d := range Drills() {
		t.Run(d.ID, func(t *testing.T) {
			for _, e := range some(t, d.ID) {
				t.Run(fmt.Sprint("level ", e.Level), func(t *testing.T) { check(t, e) })
			}
		})
	}
}

func TestDrillsAreNamed(t *testing.T) {
	if n := len(Drills()); n != 12 {
		t.Errorf("%d drills, want 12", n)
	}
	seen := make(map[string]bool)
	for _, d := range Drills() {
		if seen[d.ID] || d.ID == "" || d.Name == "" || len(d.Families) == 0 {
			t.Errorf("%+v", d)
		}
		seen[d.ID] = true
		if got, ok := DrillByID(d.ID); !ok || got.Name != d.Name {
			t.Errorf("%s cannot be found", d.ID)
		}
	}
}

// saysRight is how the headline of a right take begins.
var saysRight = regexp.MustCompile(`^(Right\.|In the window: |Spot on\.|All channels in the window\.|Well ridden: )`)

// What is shown is right, in words too, and in the time allowed.
func TestShowMe(t *testing.T) {
	eachExercise(t, func(t *testing.T, e *Exercise) {
		take := e.ShowMe()
		v, err := e.Judge(take)
		if err != nil {
			t.Fatal(err)
		}
		if !v.InWindow || v.Points < 75 {
			t.Errorf("shown, the take is worth %d points: %s %s", v.Points, v.Headline, v.Reason)
		}
		if e.Seconds > 0 && v.Seconds > e.Seconds {
			t.Errorf("shown in %v s of %v", v.Seconds, e.Seconds)
		}
		if !saysRight.MatchString(v.Headline) || strings.ContainsAny(v.Reason+v.Headline+e.Task.String()+e.Solution.String(), "{}") {
			t.Errorf("%q %q %q %q", v.Headline, v.Reason, e.Task, e.Solution)
		}
		if _, err := desk.New(e.Desk(0)); err != nil {
			t.Errorf("the desk cannot play it: %v", err)
		}
		if _, err := json.Marshal(v); err != nil {
			t.Errorf("the verdict has no JSON: %v", err)
		}
		if _, err := json.Marshal(e); err != nil {
			t.Errorf("the exercise has no JSON: %v", err)
		}
	})
}

// Eight channels whose peaks add up so high that on a rig with less headroom each
// would belong below the needle's scale.
func TestWholeDeskOfHighPeaks(t *testing.T) {
	lowest := 0.0
	for seed := range uint64(12) {
		e, err := NewExercise(WholeDesk, seed, 0, ladder.Top, Settings{Family: source.Struck})
		if err != nil {
			t.Fatal(err)
		}
		if rig := e.Rig; rig.TargetVU < -20 || rig.ReferenceDBFS < -20 || rig.CeilingDBFS > -1 {
			t.Errorf("seed %d: the rig is %s", seed, rig)
		}
		lowest = min(lowest, e.Rig.TargetVU)
		if v := judged(t, e, e.ShowMe()); !v.InWindow || v.HeadroomDB < e.Rig.ToleranceDB-0.001 {
			t.Errorf("seed %d: shown, it is %+v", seed, v)
		}
	}
	if lowest > -15 {
		t.Errorf("the lowest target is %v VU; the test is for lower ones", lowest)
	}
	// A rig that is asked for keeps its reference; its ceiling gives way.
	tape := TapeRig()
	e, err := NewExercise(WholeDesk, 1, 0, ladder.Top, Settings{Rig: &tape, Family: source.Struck})
	if err != nil {
		t.Fatal(err)
	}
	if v := judged(t, e, e.ShowMe()); e.Rig.ReferenceDBFS != -18 || e.Rig.TargetVU < -20 || !v.InWindow {
		t.Errorf("on tape: %s, %+v", e.Rig, v)
	}
}

// Channels that are all right alone are not right if their sum is over the
// ceiling, however little.
func TestWholeDeskOver(t *testing.T) {
	for _, row := range []struct {
		over float64
		code Code
	}{{-0.5, codeDeskIn}, {0.04, codeDeskIn}, {0.2, codeDeskOver}, {3, codeDeskOver}} {
		e := exercise(t, WholeDesk, 4, 9)
		v := judged(t, e, e.ShowMe())
		e.Rig.CeilingDBFS -= v.HeadroomDB + row.over // as peaks that add up in another mix would have it
		v = judged(t, e, e.ShowMe())
		if v.Code != row.code || v.InWindow != (row.code == codeDeskIn) || (v.Points == 100) != v.InWindow {
			t.Errorf("%v dB over the ceiling: %+v", row.over, v)
		}
	}
}

// An untouched desk is no answer, wherever faders are asked for.
func TestUntouched(t *testing.T) {
	eachExercise(t, func(t *testing.T, e *Exercise) {
		if e.Ask.Number || e.Ask.Choices != nil {
			return
		}
		v, err := e.Judge(Take{LockAt: 10 * audio.Rate})
		if err != nil {
			t.Fatal(err)
		}
		if v.InWindow || v.Points == 100 {
			t.Errorf("untouched: %+v", v)
		}
	})
}

// The same numbers make the same exercise.
func TestExerciseFromSeedAlone(t *testing.T) {
	for _, d := range Drills() {
		a, err := NewExercise(d.ID, 9, 3, 7, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		b, err := NewExercise(d.ID, 9, 3, 7, Settings{Family: a.Family})
		if err != nil {
			t.Fatal(err)
		}
		x, _ := json.Marshal(a)
		y, _ := json.Marshal(b)
		if string(x) != string(y) {
			t.Errorf("%s: %s\n%s", d.ID, x, y)
		}
	}
}

func TestExerciseRefusals(t *testing.T) {
	for _, row := range []struct {
		id       string
		index    int
		level    int
		settings Settings
		says     string
	}{
		{"juggling", 0, 1, Settings{}, "there is no drill"},
		{SetTake, -1, 1, Settings{}, "negative"},
		{SetTake, 0, -1, Settings{}, "no step -1"},
		{SetTake, 0, ladder.Top + 1, Settings{}, "no step"},
		{LampCount, 0, 1, Settings{Family: source.Voice}, "not played on"},
		{SetTake, 0, 1, Settings{Family: source.Own}, "not played on"},
		{SetTake, 0, 1, Settings{Rig: &Rig{}}, "no medium"},
	} {
		if e, err := NewExercise(row.id, 1, row.index, row.level, row.settings); err == nil || e != nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: got %v; want a sentence with %q", row.id, err, row.says)
		}
	}
}

// Every drill can be played on every rig that stands.
func TestExercisesOnRigs(t *testing.T) {
	for _, rig := range []Rig{DigitalRig(), FilmRig(), TapeRig()} {
		for _, d := range Drills() {
			e, err := NewExercise(d.ID, 2, 1, 8, Settings{Rig: &rig})
			if err != nil {
				t.Errorf("%s on %s: %v", d.ID, rig, err)
				continue
			}
			if e.Rig.ReferenceDBFS != rig.ReferenceDBFS {
				t.Errorf("%s on %s: 0 VU stands at %v dBFS", d.ID, rig, e.Rig.ReferenceDBFS)
			}
			if told := strings.Contains(e.Task.String(), "only the reference counts"); told != (e.Rig.Medium != rig.Medium) {
				t.Errorf("%s on %s is played on %s: %s", d.ID, rig, e.Rig, e.Task)
			}
			if v := judged(t, e, e.ShowMe()); !v.InWindow {
				t.Errorf("%s on %s: shown, yet %s %s", d.ID, rig, v.Headline, v.Reason)
			}
		}
	}
}

func TestAnswerRefusals(t *testing.T) {
	nine, no, two, minus := 9.0, math.NaN(), 2, -1
	for _, row := range []struct {
		id   string
		take Take
		says string
	}{
		{CallUnder, Take{}, "number is missing"},
		{CallUnder, Take{Number: &no}, "it may be 0 to 40 dB"},
		{CallUnder, Take{Number: &nine, Choice: &two}, "choice is given"},
		{CallUnder, Take{Number: &nine, Moves: []Move{{}}}, "fixed"},
		{TrustIt, Take{}, "choice is missing"},
		{TrustIt, Take{Choice: &two}, "it may be 0 to 1"},
		{TrustIt, Take{Choice: &minus}, "it may be 0 to 1"},
		{SetTake, Take{Number: &nine}, "number is given"},
		{MatchEar, Take{Moves: []Move{{Control: 0}}}, "fixed"},
		{MatchEar, Take{Moves: []Move{{Control: 2}}}, "controls 0 to 1"},
	} {
		e, err := NewExercise(row.id, 1, 0, 1, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := e.Judge(row.take); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: got %v; want a sentence with %q", row.id, err, row.says)
		}
	}
}

// Farther from the aim is never worth more, and what is called too low is as
// costly as what is set too hot.
func TestExercisePoints(t *testing.T) {
	for _, id := range []string{LineUp, SetTake, LampCount, MatchEar, WholeDesk} {
		e := exercise(t, id, 3, 9)
		last := len(e.Channels) - 1
		for _, sign := range []float64{1, -1} {
			before := 101
			for d := 0.0; d <= 8; d += 0.5 {
				take := e.ShowMe()
				take.Moves = append(take.Moves, Move{At: take.LockAt, Control: last,
					To: min(max(e.Channels[last].AimDB+sign*d, desk.FaderMin), desk.FaderMax)})
				v := judged(t, e, take)
				if v.Points > before {
					t.Errorf("%s: %d points %v dB from the aim, %d nearer", id, v.Points, sign*d, before)
				}
				before = v.Points
				if v.InWindow && v.Points < 75 || v.InWindow && math.Abs(v.ErrorDB) > e.Rig.ToleranceDB+0.06 {
					t.Errorf("%s: %+v", id, v)
				}
			}
		}
	}
	e := exercise(t, CallUnder, 3, 9)
	for _, d := range []float64{0, 1, 3, 6} {
		under := e.Channels[0].UnderReadDB
		low, high := under-d, under+d
		l, h := judged(t, e, Take{Number: &low}), judged(t, e, Take{Number: &high})
		if l.Points > h.Points || l.ErrorDB < 0 || h.ErrorDB > 0 {
			t.Errorf("%v dB too low: %+v; too high: %+v", d, l, h)
		}
	}
}

// What is done after the time allowed does not count.
func TestTimeAllowed(t *testing.T) {
	e := exercise(t, SetTake, 3, 9)
	limit := int64(e.Seconds * audio.Rate)
	take := Take{Moves: []Move{{At: limit - 1, To: -30}, {At: limit + 1, To: e.Channels[0].AimDB}}, LockAt: limit + 2}
	if v := judged(t, e, take); v.FaderDB != -30 || v.Seconds != e.Seconds || v.MoveCount != 1 {
		t.Errorf("%+v", v)
	}
}

func FuzzJudge(f *testing.F) {
	f.Add(uint8(1), []byte(`{"moves":[{"at":48000,"fader_db":-6}],"lock_at":96000}`))
	f.Add(uint8(3), []byte(`{"lock_at":96000,"number":9.5}`))
	f.Add(uint8(7), []byte(`{"lock_at":96000,"choice":1}`))
	var all []*Exercise
	for _, d := range Drills() {
		e, err := NewExercise(d.ID, 1, 0, 9, Settings{})
		if err != nil {
			f.Fatal(err)
		}
		all = append(all, e)
	}
	f.Fuzz(func(t *testing.T, which uint8, b []byte) {
		var take Take
		if json.Unmarshal(b, &take) != nil {
			return
		}
		v, err := all[int(which)%len(all)].Judge(take)
		if err == nil && (v.Points < 0 || v.Points > 100 || v.Headline == "" || v.Reason == "") {
			t.Fatalf("%+v", v)
		}
	})
}
