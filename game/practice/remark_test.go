package practice

import (
	"strings"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// What one's own past has to tell stands beside one's own rounds alone, never beside
// those of a class.
func TestRemarkIsOfOnesOwnRounds(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("de"); err != nil {
		t.Fatal(err)
	}
	book := &progress.Book{}
	for range 3 {
		book.Add(progress.Mark{At: time.Now(), Drill: drills.SetTake, Family: source.Voice, ErrorDB: 2.5, ToleranceDB: 1})
	}
	p := NewSession(1, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(book, w, Reports{}))
	ex := &drills.Exercise{Drill: drills.Drill{ID: drills.SetTake}, Family: source.Voice}
	if got := p.Remark(&Assignment{Exercise: ex}); !strings.Contains(got, "3-mal in Folge zu hoch, um etwa 2,5 dB") {
		t.Errorf("after three takes 2.5 dB too hot: %q", got)
	}
	for name, a := range map[string]*Assignment{
		"of a sheet":        {Exercise: ex, Series: &Series{}},
		"played to a class": {Exercise: ex, Classroom: true},
		"another family":    {Exercise: &drills.Exercise{Drill: ex.Drill, Family: source.Struck}},
	} {
		if got := p.Remark(a); got != "" {
			t.Errorf("a round %s: %q, want nothing", name, got)
		}
	}
}
