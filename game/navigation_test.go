package game

import (
	"testing"

	"slowneedle/drills/progress"
	_ "slowneedle/game/display/checked" // says in one sentence that these tests need a display
	"slowneedle/game/practice"
	"slowneedle/game/scene/round"
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
			return
		}
	}
	t.Fatalf("the screen %q has no action %q", n.scene().Name(), id)
}

// A round that is played to a class stays one when it is shown how it is done:
// what follows is the next round for the class, and nothing of it is kept.
func TestRoundForAClassAfterShowMe(t *testing.T) {
	n := newNavigation(t)
	n.press(t, "room")
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
