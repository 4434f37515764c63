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
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	r := NewRecords(&progress.Book{}, w, silentReports(&told))
	prefs := store.NewKeeper(store.DefaultSettings(), func() {})
	p := NewSession(7, "test", prefs, r)
	seen := map[string]int{}
	at := time.Now()
	var a *Assignment
	for i := 0; i == 0 || r.Under() && i < plan.Normal; i++ {
		said, ok := r.Advice()
		var err error
		if a == nil {
			a, err = p.Start().Wait()
		} else {
			a, err = p.Next(a).Wait()
		}
		if err != nil {
			t.Fatal(err)
		}
		if !ok || said.Drill != a.Drill.ID || said.Family != a.Family || said.Level != a.Level {
			t.Errorf("round %d: %s on %s, but %+v was said", i, a.Drill.ID, a.Family, said)
		}
		seen[a.Drill.ID]++
		at = at.Add(time.Minute)
		r.played(progress.Mark{At: at, Drill: a.Drill.ID, Family: a.Family, Level: a.Level, ToleranceDB: 3, Right: true}, false, nil)
	}
	if s := r.Summary(); r.Under() || len(s.Rounds) == 0 || s.Right != len(s.Rounds) {
		t.Errorf("at its end, all right: %+v", s)
	}
	// What is due next is no reason to forget it.
	last := r.Last()
	if due := r.Due(); len(due.Done) > 0 || len(due.Ahead) == 0 || len(r.Last().Done) != len(last.Done) {
		t.Errorf("%+v is due after %+v", due, r.Last())
	}
	prefs.Length = store.LengthShort
	if n := len(r.Due().Ahead); n > plan.Short {
		t.Errorf("%d rounds are due of a short practice", n)
	}
	prefs.Length = store.LengthNormal
	if len(seen) != 2 {
		t.Errorf("the drills of a practice: %v, want two", seen)
	}
	// What was given up comes again.
	b, err := p.Next(a).Wait()
	if err != nil {
		t.Fatal(err)
	}
	c, err := p.Next(b).Wait()
	if err != nil || c.Drill.ID != b.Drill.ID || c.Family != b.Family {
		t.Errorf("%s on %s comes after %s on %s was given up", c.Drill.ID, c.Family, b.Drill.ID, b.Family)
	}
	// So it does after a restart with the settings that were kept, on the same
	// day; the next day a practice begins again.
	r = NewRecords(r.Book, &words.Speech{}, silentReports(&told))
	p = NewSession(8, "test", store.NewKeeper(prefs.Settings, func() {}), r)
	if d, err := p.Start().Wait(); err != nil || d.Drill.ID != b.Drill.ID || d.Family != b.Family {
		t.Errorf("%s on %s after a restart, want %s on %s", d.Drill.ID, d.Family, b.Drill.ID, b.Family)
	}
	begun := r.prefs.Practice.Began
	r.prefs.Practice.Began = begun.Add(-13 * time.Hour)
	r.advised = nil
	if _, err := p.Start().Wait(); err != nil || r.prefs.Practice.Began.Before(begun) {
		t.Errorf("the practice of %v goes on, %v", r.prefs.Practice.Began, err)
	}
	// Its length is a setting.
	r.prefs.Practice, r.prefs.Length, r.advised = plan.Practice{}, store.LengthShort, nil
	if _, err := p.Start().Wait(); err != nil {
		t.Fatal(err)
	}
	if n := len(r.prefs.Practice.Ahead); n == 0 || n > plan.Short {
		t.Errorf("a short practice has %d rounds", n)
	}
}
