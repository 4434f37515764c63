package practice

import (
	"testing"
	"time"

	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// Where the trainer chooses, one exercise follows the other as a practice has
// them: two drills in a dozen rounds, and what the first screen says is next is
// next.
func TestPracticeIsFollowed(t *testing.T) {
	var told []string
	r := NewRecords(&progress.Book{}, &words.Speech{}, silentReports(&told))
	p := NewSession(7, "test", &store.Keeper{}, r)
	seen := map[string]int{}
	at := time.Now()
	var a *Assignment
	for i := range plan.Normal {
		said, ok := r.Advice("", "")
		var err error
		if a == nil {
			a, err = p.Start()
		} else {
			a, err = p.Next(a)
		}
		if err != nil {
			t.Fatal(err)
		}
		if !ok || said.Drill != a.Drill.ID || said.Family != a.Family || said.Level != a.Level {
			t.Errorf("round %d: %s on %s, but %+v was said", i, a.Drill.ID, a.Family, said)
		}
		seen[a.Drill.ID]++
		at = at.Add(time.Minute)
		r.played(progress.Mark{At: at, Drill: a.Drill.ID, Family: a.Family, Level: a.Level, ToleranceDB: 3, Right: true})
	}
	if len(seen) != 2 {
		t.Errorf("the drills of a practice: %v, want two", seen)
	}
	// What was given up comes again.
	b, err := p.Next(a)
	if err != nil {
		t.Fatal(err)
	}
	c, err := p.Next(b)
	if err != nil || c.Drill.ID != b.Drill.ID || c.Family != b.Family {
		t.Errorf("%s on %s comes after %s on %s was given up", c.Drill.ID, c.Family, b.Drill.ID, b.Family)
	}
}
