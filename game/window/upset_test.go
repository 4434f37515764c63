package window

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite" // another program at the journal

	"slowneedle/audio/output/nullsink"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/game/window/drive"
)

// inRound starts a trainer, goes to a round and starts its sound.
func inRound(t *testing.T, o options) *app {
	t.Helper()
	if o.settings == "" {
		o.settings = calm
	}
	a := start(t, o)
	a.Screen("home")
	a.InRound()
	return a
}

// locked ends the round, whose verdict must be the pure function's.
func (a *app) locked() drills.Verdict {
	a.T.Helper()
	e, _ := a.Lock()
	return drive.CheckVerdict(a.T, e)
}

// The window is pulled about in the middle of a round: another size, too small,
// back, elsewhere, hidden and shown. The round goes on and its verdict is the
// pure function's.
func TestWindowPulledAbout(t *testing.T) {
	inTurn(t)
	a := inRound(t, options{display: "1920x1200"})
	a.Louder(1)
	small := func(want bool) {
		t.Helper()
		a.Next(fmt.Sprintf("a window that is small: %v", want), func(e event) bool { return e.Is("screen") && e["small"] == want })
	}
	for _, size := range [][2]int{{960, 600}, {1900, 1100}, {300, 200}, {1500, 700}, {640, 960}, {1280, 800}} {
		a.resize(size[0], size[1])
		small(size[1] == 200)
		if size[1] != 200 {
			a.Louder(1)
		}
		if size[1] == 960 {
			a.Shot("round-640x960")
		}
	}
	for i := range 8 {
		a.hands("search", "--name", window, "windowmove", fmt.Sprint(i*70), fmt.Sprint(i*45))
		a.Louder(1)
	}
	// Hidden, the round's clock goes on; shown again it takes the keyboard.
	a.hands("search", "--name", window, "windowunmap")
	a.pace("round")
	a.hands("search", "--name", window, "windowmap")
	a.hands("search", "--sync", "--name", window, "windowfocus")
	a.Louder(1)
	v := a.locked()
	if v.MoveCount < 10 {
		t.Errorf("%d moves counted, at least 10 were made", v.MoveCount)
	}
	a.checkJournal(v)
}

// The sound server dies in the middle of a round and comes back: the screen
// says so at once, the round goes on, and the same round is heard again.
func TestSoundLostAndBack(t *testing.T) {
	sink := nullsink.Start(t)
	for _, v := range sink.Env {
		name, value, _ := strings.Cut(v, "=")
		if strings.HasPrefix(name, "PULSE_") || name == "ALSA_CONFIG_PATH" {
			t.Setenv(name, value)
		}
	}
	a := inRound(t, options{})
	streams := func() int {
		out, err := sink.Command("pactl", "list", "short", "sink-inputs").CombinedOutput()
		if err != nil {
			t.Fatalf("pactl: %v: %s", err, out)
		}
		return strings.Count(string(out), "\n")
	}
	until := func(what string, ok func() bool) {
		t.Helper()
		end := time.After(drive.Patience)
		tick := time.NewTicker(100 * time.Millisecond)
		defer tick.Stop()
		for !ok() {
			select {
			case <-end:
				t.Fatalf("never: %s", what)
			case <-a.done:
				t.Fatalf("the trainer ended before %s:\n%s", what, a.stderr)
			case <-tick.C:
			}
		}
	}
	until("a stream of the trainer", func() bool { return streams() == 1 })
	a.Louder(1)
	sink.Kill()
	a.Screen("round") // drawn again without a hand: it says that there is no sound
	a.Shot("sound-lost")
	a.Louder(1)
	sink.Revive(t)
	until("a stream of the trainer once more", func() bool { return streams() == 1 })
	a.Louder(1)
	v := a.locked()
	if v.MoveCount < 3 {
		t.Errorf("%d moves counted, 3 were made", v.MoveCount)
	}
}

// otherProgram is one that works on the trainer's journal, as it is told to.
func (a *app) otherProgram() (order func(what string)) {
	a.T.Helper()
	db, err := sql.Open("sqlite", filepath.Join(a.home, "data", "slowneedle", "journal.db"))
	if err != nil {
		a.T.Fatal(err)
	}
	a.T.Cleanup(func() { db.Close() })
	hold, err := db.Conn(context.Background())
	if err != nil {
		a.T.Fatal(err)
	}
	return func(what string) {
		if _, err := hold.ExecContext(context.Background(), what); err != nil {
			a.T.Error(err)
		}
	}
}

// The window is closed while a take is being kept: it is kept all the same.
func TestClosedWhileKeeping(t *testing.T) {
	inTurn(t)
	a := inRound(t, options{})
	order := a.otherProgram()
	order(`BEGIN IMMEDIATE`)
	a.Louder(1)
	a.hands("key", "Return")
	a.Event("keeping")
	a.closeWindow()
	select {
	case <-a.done:
		t.Error("the trainer has ended before the take could be kept")
	default:
	}
	order(`ROLLBACK`)
	a.ends()
	j, err := journal.OpenReadOnly(filepath.Join(a.home, "data", "slowneedle", "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	kept := 0
	for e, err := range j.All() {
		if err != nil {
			t.Fatal(err)
		}
		if kept++; len(e.Take.Moves) == 0 {
			t.Errorf("kept without its moves: %+v", e)
		}
	}
	if kept != 1 {
		t.Errorf("%d takes are in the journal, 1 was locked", kept)
	}
}

// While a take is locked another program holds the journal, as a slow disk
// does: first for a while, then for longer than anybody waits. The verdict
// comes either way, and not before; until then the window is drawn, says what it
// does, and lets nobody leave. What could not be kept is said in one sentence.
func TestJournalHeld(t *testing.T) {
	inTurn(t)
	a := inRound(t, options{})
	order := a.otherProgram()
	order(`BEGIN IMMEDIATE`)
	time.AfterFunc(time.Second, func() { order(`ROLLBACK`) })
	a.Louder(1)
	from := time.Now()
	first := a.locked()
	t.Logf("the journal was held for a second: the verdict stood after %d ms", time.Since(from).Milliseconds())

	a.To("Return", "round")
	a.For("Return", "begin")
	order(`BEGIN IMMEDIATE`)
	a.Louder(1)
	from = time.Now()
	locked := len(a.All)
	a.hands("key", "Return")
	a.Event("keeping")
	a.Shot("keeping")
	a.hands("key", "Escape")
	drive.CheckVerdict(t, a.Event("verdict"))
	drawn, last := 0, -1.0
	for _, e := range a.All[locked:a.Seen] {
		if !e.Is("pace") {
			continue
		}
		if e.Str("scene") != "round" || last >= 0 && e.Num("frames") < last+5 {
			t.Errorf("while the take was being kept: %v, after %g frames", e, last)
		}
		drawn, last = drawn+1, e.Num("frames")
	}
	if drawn < 3 {
		t.Errorf("the window said %d times in some 5 s that it draws", drawn)
	}
	a.Screen("verdict")
	t.Logf("the journal was held for good: the verdict stood after %d ms", time.Since(from).Milliseconds())
	t.Log(a.Notice("another program holds the file"))
	order(`ROLLBACK`)
	a.checkJournal(first)
}

// The journal's folder is taken away in the middle of a round, as a stick that
// is pulled out, or cannot be made at all: the verdict comes, and a sentence.
func TestJournalTakenAway(t *testing.T) {
	inTurn(t)
	a := inRound(t, options{})
	dir := filepath.Join(a.home, "data", "slowneedle")
	if err := os.Rename(dir, dir+"-away"); err != nil {
		t.Fatal(err)
	}
	a.Louder(1)
	a.locked()
	t.Log(a.Notice("This take could not be saved"))
	a.To("Return", "round")
}
