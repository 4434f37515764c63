package practice

import (
	"database/sql"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/assets"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/game/beside"
	"slowneedle/game/words"
)

// silentReports takes what happens and tells nobody; told gets the sentences.
func silentReports(told *[]string) Reports {
	return Reports{Tell: func(s string) { *told = append(*told, s) }, Note: func(string, map[string]any) {}, Changed: func() {}}
}

// anEntry is what the journal keeps of a take that is right.
func anEntry(t *testing.T) journal.Entry {
	t.Helper()
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
	return entry
}

// A journal that was dropped has been taken in while a take is on its way to the
// disk: reading it again waits, so that no take is missing from what is shown.
func TestTakenInWhileSaving(t *testing.T) {
	entry := anEntry(t)
	book, err := journal.Open(filepath.Join(t.TempDir(), "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	var told []string
	r := NewRecords(&progress.Book{}, &words.Speech{}, silentReports(&told))
	r.journal = book
	p := &Session{Records: r, files: beside.New()}
	r.Saving = &saving{entry: entry, since: time.Now(), then: func() {}, started: true}
	r.Book.Add(entry.Mark())
	p.files <- r.reread
	p.Update()
	if n := r.Book.Len(); n != 1 || r.Saving == nil {
		t.Errorf("while the take is being kept, %d takes are shown, want 1", n)
	}
	if _, err := book.Add(entry); err != nil {
		t.Fatal(err)
	}
	kept := r.Saving
	r.work <- func() { r.saved(kept, nil, nil) }
	p.Update()
	p.Update()
	if n := r.Book.Len(); n != 1 || len(p.files) != 0 || r.Saving != nil {
		t.Errorf("once it is kept, %d takes are shown, want 1; %d drops wait", n, len(p.files))
	}
}

// A take that the journal refuses while the window closes is reported.
func TestRefusedWhileClosing(t *testing.T) {
	en, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	book, err := journal.Open(filepath.Join(t.TempDir(), "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	book.Close() // so that it refuses
	r := NewRecords(&progress.Book{}, &words.Speech{Words: en}, silentReports(new([]string)))
	r.journal = book
	r.Changed = func() {}
	if got := r.waitSaved(); got != nil {
		t.Errorf("with nothing to keep: %q", got)
	}
	r.Saving = &saving{then: func() {}}
	if got := r.waitSaved(); len(got) != 1 || !strings.HasPrefix(got[0], "This take could not be saved: ") {
		t.Errorf("%q", got)
	}
}

// A journal that turns out to be damaged during a practice is set aside, and the learner is
// told once where it is.
func TestDamagedWhileOpen(t *testing.T) {
	en, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	entry, path := anEntry(t), filepath.Join(t.TempDir(), "journal.db")
	book, err := journal.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	if _, err := book.Add(entry); err != nil {
		t.Fatal(err)
	}
	other, err := sql.Open("sqlite", path) // another program at the file
	if err != nil {
		t.Fatal(err)
	}
	if _, err := other.Exec(`UPDATE take SET body = zeroblob(100)`); err != nil {
		t.Fatal(err)
	}
	other.Close()
	var told []string
	r := NewRecords(&progress.Book{}, &words.Speech{Words: en}, silentReports(&told))
	r.journal = book
	for range 2 {
		r.check()
		(<-r.work)()
	}
	aside, err := filepath.Glob(filepath.Join(filepath.Dir(path), "journal-broken-*.db"))
	if err != nil || len(aside) != 1 {
		t.Fatalf("set aside: %v, %v", aside, err)
	}
	if len(told) != 1 || !strings.Contains(told[0], aside[0]) {
		t.Errorf("%q is told, want once where %s is", told, aside[0])
	}
}
