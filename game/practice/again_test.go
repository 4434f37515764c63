package practice

import (
	"testing"

	"slowneedle/drills/progress"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// A round that was only shown does not count: the next has its number.
func TestAgain(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	p := NewSession(1, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(&progress.Book{}, w, Reports{}))
	first, err := p.nextOf("take", "")
	if err != nil {
		t.Fatal(err)
	}
	p.Prefs.Drill = "take"
	again, err := p.Again(first)
	if err != nil {
		t.Fatal(err)
	}
	if again.number != first.number || again.Seed == first.Seed && again.Index == first.Index {
		t.Errorf("after round %d (index %d) was shown comes round %d (index %d)", first.number, first.Index, again.number, again.Index)
	}
	class, err := p.ForClass()
	if err != nil {
		t.Fatal(err)
	}
	if next, err := p.Again(class); err != nil || next.number != class.number {
		t.Errorf("after demonstration %d was shown comes %v %v", class.number, next, err)
	}
}
