package game

import (
	"slices"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	_ "slowneedle/game/display/checked" // says in one sentence that these tests need a display
	"slowneedle/game/draw"
	"slowneedle/game/practice"
	"slowneedle/game/scene/round"
	"slowneedle/game/scene/summary"
	"slowneedle/game/sound"
	"slowneedle/game/store"
	"slowneedle/game/widget"
	"slowneedle/game/words"
)

// newNavigation is a navigation without a window, a journal or a device, which
// stands on the first screen.
func newNavigation(t *testing.T) *navigation {
	t.Helper()
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	screen := widget.NewScreen(w, func(string, map[string]any) {})
	prefs := store.NewKeeper(store.DefaultSettings(), screen.Redraw)
	records := practice.NewRecords(&progress.Book{}, w, practice.Reports{Tell: screen.Tell, Note: screen.Note, Changed: screen.Redraw})
	s := sound.OpenPlayer()
	t.Cleanup(func() { s.Close() })
	n := &navigation{screen: screen, session: practice.NewSession(21, "test", prefs, records), sound: s, quit: func() {}, shown: func() {}}
	n.Home()
	return n
}

// press does the action of a name on the screen that is shown.
func (n *navigation) press(t *testing.T, id string) {
	t.Helper()
	for _, a := range n.scene().Actions() {
		if a.ID == id {
			a.Do()
			n.made(t)
			return
		}
	}
	t.Fatalf("the screen %q has no action %q", n.scene().Name(), id)
}

// made waits until a round that was asked for is shown.
func (n *navigation) made(t *testing.T) {
	t.Helper()
	for end := time.Now().Add(time.Minute); n.making != nil; n.takeMade() {
		if time.Now().After(end) {
			t.Fatal("the round is not made")
		}
	}
}

// A round that is played to a class stays one when it is shown how it is done:
// what follows is the next round for the class, and nothing of it is kept.
func TestRoundForAClassAfterShowMe(t *testing.T) {
	n := newNavigation(t)
	n.press(t, "demonstration")
	for _, id := range []string{"show", "enter"} { // show me, then try one
		n.press(t, id)
		if s, ok := n.scene().(*round.Scene); !ok || !s.LargeText() {
			t.Fatalf("after %q the round is no longer for a class: %s", id, n.scene().Name())
		}
	}
	if played := n.session.Records.Book.Len(); played != 0 {
		t.Errorf("%d takes of a class are in the learner's book", played)
	}
}

// Screens that are laid over a round wait for each other, and the round is there
// again when they have gone.
func TestScreensAreLaidOver(t *testing.T) {
	n := newNavigation(t)
	n.press(t, "enter")
	for _, id := range []string{"help", "cautions", "help", "tour"} {
		n.press(t, id)
	}
	for _, name := range []string{"tour", "help", "cautions", "help", "round"} {
		if got := n.scene().Name(); got != name {
			t.Fatalf("%q is shown, want %q", got, name)
		}
		if name == "round" {
			break
		}
		if name == "cautions" {
			n.press(t, "enter")
			continue
		}
		n.press(t, "esc")
	}
	if n.press(t, "esc"); n.scene().Name() != "home" || len(n.stack) != 1 {
		t.Errorf("%q is shown over %d others, want the first screen", n.scene().Name(), len(n.stack)-1)
	}
}

// A practice is gone on with where it was left, its end leads to its summary, and
// that to the first screen, where the next is due.
func TestPracticeToItsSummary(t *testing.T) {
	n := newNavigation(t)
	r := n.session.Records
	n.session.Prefs.Change(func(p *store.Settings) { p.Length = store.LengthShort })
	n.press(t, "enter")
	for played := 1; n.scene().Name() == "round"; played++ {
		answer(t, n, r.Last().Ahead[0].Drill)
		if done := len(r.Last().Done); done != played {
			t.Fatalf("%d rounds of the practice are done after %d", done, played)
		}
		if played == 2 { // away and back
			began := r.Last().Began
			n.press(t, "esc")
			if n.press(t, "enter"); !r.Last().Began.Equal(began) {
				t.Fatal("another practice has begun")
			}
			continue
		}
		n.press(t, "enter")
	}
	s, ok := n.scene().(*summary.Scene)
	if !ok || r.Under() || len(s.Summary.Rounds) < plan.Short {
		t.Fatalf("%q is shown after %d rounds, more ahead: %v", n.scene().Name(), len(r.Last().Done), r.Under())
	}
	if n.press(t, "enter"); n.scene().Name() != "home" || len(r.Due("").Done) > 0 {
		t.Errorf("%q is shown, %+v is due", n.scene().Name(), r.Due(""))
	}
}

// A practice that is ended early is summed up, and over.
func TestPracticeEndedEarly(t *testing.T) {
	for _, at := range []string{"verdict", "home"} {
		n := newNavigation(t)
		r := n.session.Records
		n.press(t, "enter")
		answer(t, n, r.Last().Ahead[0].Drill)
		if at == "home" {
			n.press(t, "esc")
		}
		r.Due("") // as a screen that is drawn asks
		n.press(t, "end")
		if s, ok := n.scene().(*summary.Scene); !ok || r.Under() || len(s.Summary.Rounds) != 1 {
			t.Errorf("ended on the %s: %q is shown, more ahead: %v", at, n.scene().Name(), r.Under())
		}
		first := r.Last().Began
		if n.press(t, "again"); n.scene().Name() != "round" || r.Last().Began.Equal(first) || len(r.Last().Done) > 0 {
			t.Errorf("ended on the %s: %q is shown, of the practice %+v", at, n.scene().Name(), r.Last())
		}
	}
}

// A row of the grid of steps leads to the errors of its drill, and back.
func TestStepsLeadToErrors(t *testing.T) {
	n := newNavigation(t)
	n.session.Records.Book = practised()
	n.press(t, "progress")
	n.pressOn(t, "steps."+drills.SetTake)
	titles := func() (all []string) {
		for _, item := range draw.Items(n.screen.M, &draw.Slate, n.scene().Draw) {
			all = append(all, item.Label)
		}
		return all
	}
	if sub := n.screen.Say("progress.takes", 200, n.screen.DrillName(drills.SetTake), n.screen.Say("progress.all_rigs")); !slices.Contains(titles(), sub) {
		t.Errorf("%q is not on the screen: %q", sub, titles())
	}
	n.press(t, "view")
	if sub := n.screen.Say("progress.all_takes", 200); !slices.Contains(titles(), sub) {
		t.Errorf("%q is not on the screen: %q", sub, titles())
	}
}

// A round of a drill that was chosen is none of the practice under way.
func TestChosenRoundIsNoneOfAPractice(t *testing.T) {
	n := newNavigation(t)
	r := n.session.Records
	n.press(t, "enter")
	due := r.Last().Ahead[0]
	n.press(t, "esc")
	n.session.Prefs.Change(func(p *store.Settings) { p.Drill, p.Family = due.Drill, due.Family })
	n.press(t, "enter")
	answer(t, n, due.Drill)
	if done := len(r.Last().Done); done > 0 || r.Book.Len() != 1 {
		t.Errorf("%d rounds of the practice are done, %d takes in the book; want none and 1", done, r.Book.Len())
	}
}
