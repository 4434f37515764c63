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
	made := func(m *Making) *Assignment {
		t.Helper()
		a, err := m.Wait()
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	first := made(p.nextOf("take", ""))
	if again := made(p.Again(first)); again.Seed == first.Seed && again.Index == first.Index {
		t.Errorf("after a round was shown comes the same one")
	}
	if next := made(p.nextOf("take", "")); next.number != first.number+1 {
		t.Errorf("round %d, which was shown, and one in its place are followed by round %d", first.number, next.number)
	}
	class := made(p.ForClass())
	if next := made(p.Again(class)); next.number != class.number {
		t.Errorf("after demonstration %d was shown comes demonstration %d", class.number, next.number)
	}
}
