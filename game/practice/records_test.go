package practice

import (
	"strings"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/words"
)

// Advice is worked out once for every change of the book, however often it is
// asked for: afterwards, asking again costs nothing.
func TestAdviceOncePerChangeOfTheBook(t *testing.T) {
	var told []string
	r := NewRecords(&progress.Book{}, &words.Speech{}, silentReports(&told))
	for i := range 40 {
		r.Book.Add(progress.Mark{Drill: drills.SetTake, Family: source.Voice, At: time.Now().Add(time.Duration(i) * time.Minute), ErrorDB: 2})
	}
	r.setBook(r.Book)
	ask := func() { r.Advice() }
	ask()
	if n := testing.AllocsPerRun(100, ask); n > 0 {
		t.Errorf("asking again allocates %.0f times, want 0", n)
	}
	r.prefs.Drill, r.prefs.Family = drills.SetTake, source.Voice
	first, _ := r.Advice()
	if first.Drill != drills.SetTake || first.Family != source.Voice {
		t.Errorf("asked for a take of a voice, the advice is still %+v", first)
	}
	empty := NewRecords(&progress.Book{}, &words.Speech{}, silentReports(&told))
	empty.prefs.Drill, empty.prefs.Family = drills.SetTake, source.Voice
	fresh, _ := empty.Advice()
	r.setBook(&progress.Book{})
	if again, _ := r.Advice(); again != fresh || again == first {
		t.Errorf("after the book was emptied the advice is %+v, want %+v, not %+v", again, fresh, first)
	}
}

// Without a journal there is nothing to write out or to forget, and that is said.
func TestWithoutAJournal(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	var told []string
	r := NewRecords(&progress.Book{}, w, silentReports(&told))
	r.Export()
	r.ForgetAll()
	if len(told) != 2 || told[0] != w.Say("journal.none") || told[1] != told[0] || !strings.Contains(told[0], " ") {
		t.Errorf("said %q", told)
	}
}
