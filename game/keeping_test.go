//go:build !js

package game

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/assets"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/game/words"
)

// A journal that was dropped has been taken in while a take is on its way to the
// disk: reading it again waits, so that no take is missing from what is shown.
func TestTakenInWhileKeeping(t *testing.T) {
	ex, err := drills.NewExercise(drills.SetTake, 21, 0, 1, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	take := ex.ShowMe()
	verdict, err := ex.Judge(take)
	if err != nil {
		t.Fatal(err)
	}
	entry, err := journal.Of(ex, drills.Settings{}, take, verdict, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	book, err := journal.Open(filepath.Join(t.TempDir(), "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	g := &Game{Speech: &words.Speech{}, drops: make(chan drop, 1), rec: records{journal: book, book: &progress.Book{}}}
	g.keeping = &keeping{job: &job{ex: ex}, entry: entry, since: time.Now(), then: func(*Game) {}}
	g.rec.book.Add(entry.Mark())
	g.keeping.done = make(chan kept, 1)
	g.drops <- drop{takes: &journal.Imported{}}
	g.takeDrops()
	g.takeKept()
	if n := g.rec.book.Len(); n != 1 || g.keeping == nil {
		t.Errorf("while the take is being kept, %d takes are shown, want 1", n)
	}
	if _, err := book.Add(entry); err != nil {
		t.Fatal(err)
	}
	g.keeping.done <- kept{}
	g.takeKept()
	g.takeDrops()
	if n := g.rec.book.Len(); n != 1 || len(g.drops) != 0 || g.keeping != nil {
		t.Errorf("once it is kept, %d takes are shown, want 1; %d drops wait", n, len(g.drops))
	}
}

// A take that the journal refuses while the window closes is spoken of.
func TestRefusedWhileClosing(t *testing.T) {
	en, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	ex, err := drills.NewExercise(drills.SetTake, 21, 0, 1, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	book, err := journal.Open(filepath.Join(t.TempDir(), "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	book.Close() // so that it refuses
	g := &Game{Speech: &words.Speech{}, rec: records{journal: book, book: &progress.Book{}}}
	g.Words = en
	if got := g.waitKept(); got != nil {
		t.Errorf("with nothing to keep: %q", got)
	}
	g.keeping = &keeping{job: &job{ex: ex}, then: func(*Game) {}}
	if got := g.waitKept(); len(got) != 1 || !strings.HasPrefix(got[0], "This take could not be saved: ") {
		t.Errorf("%q", got)
	}
}
