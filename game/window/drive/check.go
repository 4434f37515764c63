package drive

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slowneedle/drills"
)

// What a hand-held screen must keep to, in points. WCAG 2.2 asks that what is touched be
// at least 24 high (SC 2.5.8), 44 at its strictest (SC 2.5.5); the size of letters is
// common practice.
const (
	leastFinger = 40.0
	leastText   = 10.9
)

// Check wants a screen of a size, such as 1280x800, to have all buttons and words inside,
// and no two over each other. A sentence that comes lies over the screen, but not over the
// keys of its bar.
func Check(t testing.TB, screen string, e Event, size string) {
	t.Helper()
	var w, h float64
	if _, err := fmt.Sscanf(size, "%gx%g", &w, &h); err != nil {
		t.Fatal(err)
	}
	var buttons, words []named
	for id, b := range e.Places() {
		if !slides(id) {
			buttons = append(buttons, named{id, b})
		}
	}
	for _, l := range e.Texts() {
		words = append(words, named{fmt.Sprintf("%q", l.Words), l.Box})
	}
	if len(words) == 0 {
		t.Errorf("%s: nothing is written", screen)
	}
	notice := e.Places()["notice"]
	apart(t, screen, buttons, notice, w+0.5, h+0.5)
	apart(t, screen, words, notice, w, h)
}

// CheckHands wants what can be touched as high as a finger needs, and what is written
// large enough to be read.
func CheckHands(t testing.TB, screen string, e Event) {
	t.Helper()
	for id, b := range e.Places() {
		if b.H < leastFinger && !slides(id) {
			t.Errorf("%s: %s is %.1f points high, too little for a finger", screen, id, b.H)
		}
	}
	for _, l := range e.Texts() {
		if l.Size < leastText {
			t.Errorf("%s: %q is written %.1f points high, too small to be read", screen, l.Words, l.Size)
		}
	}
}

type named struct {
	name string
	Box
}

// slides reports whether a place is one of those of a slider, which lie over each other.
func slides(id string) bool { return strings.HasSuffix(id, ".track") || strings.HasSuffix(id, ".knob") }

// Inside reports whether all that can be pressed on a screen but its sliders lies inside a size.
func Inside(e Event, w, h float64) bool {
	for id, b := range e.Places() {
		if !slides(id) && b.outside(w+0.5, h+0.5) {
			return false
		}
	}
	return true
}

func (b Box) outside(w, h float64) bool {
	return b.X < 0 || b.Y < 0 || b.X+b.W > w || b.Y+b.H > h
}

// over reports whether a place lies over another by more than a point either way.
func (b Box) over(o Box) bool {
	across := math.Min(b.X+b.W, o.X+o.W) - math.Max(b.X, o.X)
	down := math.Min(b.Y+b.H, o.Y+o.H) - math.Max(b.Y, o.Y)
	return across > 1 && down > 1
}

// apart wants all inside and no two over each other, but for what lies under a notice.
func apart(t testing.TB, screen string, all []named, notice Box, w, h float64) {
	t.Helper()
	free := func(a named) bool { return a.over(notice) && !strings.HasPrefix(a.name, "key.") }
	for i, a := range all {
		if a.outside(w, h) {
			t.Errorf("%s: %s reaches out of the window: %+v", screen, a.name, a.Box)
		}
		for _, b := range all[:i] {
			if a.over(b.Box) && !(free(a) && free(b)) {
				t.Errorf("%s: %s and %s lie over each other: %+v, %+v", screen, a.name, b.name, a.Box, b.Box)
			}
		}
	}
}

// CheckVerdict wants the verdict on the screen to be that of the pure function.
func CheckVerdict(t testing.TB, e Event) drills.Verdict {
	t.Helper()
	data, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	var said struct {
		Drill    string          `json:"drill"`
		Seed     uint64          `json:"seed"`
		Index    int             `json:"index"`
		Level    int             `json:"level"`
		Settings drills.Settings `json:"settings"`
		Take     drills.Take     `json:"take"`
		Verdict  drills.Verdict  `json:"verdict"`
	}
	if err := json.Unmarshal(data, &said); err != nil {
		t.Fatal(err)
	}
	ex, err := drills.NewExercise(said.Drill, said.Seed, said.Index, said.Level, said.Settings)
	if err != nil {
		t.Fatal(err)
	}
	want, err := ex.Judge(said.Take)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, said.Verdict); diff != "" {
		t.Errorf("the verdict shown differs from the function's (-function +shown):\n%s", diff)
	}
	return said.Verdict
}
