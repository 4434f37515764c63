package plan

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
)

// advised makes advice of drills and families in order, all scores 0.
func advised(drill string, families ...source.Family) (all []progress.Advice) {
	for _, f := range families {
		all = append(all, progress.Advice{Drill: drill, Family: f})
	}
	return all
}

var five = source.Generated()

// played runs a practice to its end; right answers by number of the round.
func played(p Practice, right func(i int) bool) Practice {
	for {
		if _, ok := p.Next(); !ok {
			return p
		}
		p.Add(progress.Mark{Level: 3, ErrorDB: 2, Right: right(len(p.Done))})
	}
}

func always(int) bool { return true }

func TestPlan(t *testing.T) {
	take, ride, trust := advised(drills.SetTake, five...), advised(drills.Ride, five...), advised(drills.TrustIt, five[1:]...)
	all := append(append(append([]progress.Advice{}, take...), ride...), trust...)
	for _, tt := range []struct {
		name   string
		advice []progress.Advice
		length int
		blocks map[string]int
	}{
		{"two blocks, the second of long rounds", all, Normal, map[string]int{drills.SetTake: 6, drills.Ride: 3}},
		{"a long drill first", append(append([]progress.Advice{}, ride...), trust...), Normal, map[string]int{drills.Ride: 3, drills.TrustIt: 6}},
		{"short", all, Short, map[string]int{drills.SetTake: 3, drills.Ride: 1}},
		{"long", all, Long, map[string]int{drills.SetTake: 9, drills.Ride: 4}},
		{"one drill alone", take, Normal, map[string]int{drills.SetTake: 12}},
		{"one long drill alone", ride, Normal, map[string]int{drills.Ride: 6}},
		{"nothing to practise", nil, Normal, map[string]int{}},
	} {
		p := played(New(tt.advice, tt.length, firstDay), always)
		got := map[string]int{}
		for i, r := range p.Done {
			got[r.Drill]++
			if i == 0 {
				continue
			}
			before := p.Done[i-1]
			if r.Drill != before.Drill && got[r.Drill] > 1 {
				t.Errorf("%s: round %d goes back to %s", tt.name, i, r.Drill)
			}
			if r.Drill == before.Drill && r.Family == before.Family {
				t.Errorf("%s: %s twice in a row", tt.name, r.Family)
			}
		}
		if !reflect.DeepEqual(got, tt.blocks) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.blocks)
		}
	}
}

// The families of a block take turns in the order of their need; one that is
// clearly worse comes every other round.
func TestFamiliesTakeTurns(t *testing.T) {
	of := func(p Practice) (s string) {
		for _, r := range p.Ahead {
			s += string(r.Family)[:1]
		}
		return s
	}
	advice := advised(drills.SetTake, source.Voice, source.Struck, source.Plucked)
	if got := of(New(advice, Short, firstDay)); got != "vspvsp" {
		t.Errorf("equals: %s", got)
	}
	advice[1].Score = clearlyWorse - 0.01
	if got := of(New(advice, Short, firstDay)); got != "vspvsp" {
		t.Errorf("a little worse: %s", got)
	}
	advice[1].Score = clearlyWorse
	if got := of(New(advice, Short, firstDay)); got != "svspsv" {
		t.Errorf("clearly worse: %s", got)
	}
	scored := func(scores ...float64) string {
		for i := range advice {
			advice[i].Score = scores[i]
		}
		return of(New(advice, Short, firstDay))
	}
	if got := scored(0.5, 1, 0.5); got != "vspvsp" {
		t.Errorf("half a score worse than the mean of the others: %s", got)
	}
	if got := scored(-0.5, 0.5, 0.2); got != "svspsv" {
		t.Errorf("0.65 worse than the mean of the others: %s", got)
	}
	if got := scored(1, 1, -2); got != "vsvpvs" {
		t.Errorf("two alike, the first of which leads: %s", got)
	}
	if got := of(New(advice[:2], Short, firstDay)); got != "vsvsvs" {
		t.Errorf("two: %s", got)
	}
}

// A round that went wrong comes back once, after another one; the practice grows
// only by the last two of a block.
func TestFailuresComeBackOnce(t *testing.T) {
	advice := append(advised(drills.SetTake, five...), advised(drills.TrustIt, five[1:]...)...)
	plan := New(advice, Normal, firstDay)
	for wrong := range plan.Ahead {
		p := played(plan, func(i int) bool { return i != wrong })
		length, again := len(plan.Ahead), wrong+2
		switch wrong % 6 {
		case 4:
			length++
		case 5: // there is no other left to come between
			length++
			again = wrong + 1
		}
		if len(p.Done) != length {
			t.Errorf("round %d wrong: %d rounds, want %d", wrong, len(p.Done), length)
			continue
		}
		for i, r := range p.Done {
			if r.Again != (i == again) {
				t.Errorf("round %d wrong: round %d comes again: %v", wrong, i, r.Again)
			}
		}
		if r := p.Done[again]; r.Drill != p.Done[wrong].Drill || r.Family != p.Done[wrong].Family {
			t.Errorf("round %d wrong: %+v comes back", wrong, r)
		}
	}
	// One who gets nothing right is not kept for ever.
	if n := len(played(plan, func(int) bool { return false }).Done); n > Normal+4 {
		t.Errorf("all wrong: %d rounds", n)
	}
}

// A practice goes on after a restart where it stood, and ends.
func TestGoesOnAfterARestart(t *testing.T) {
	p := New(advised(drills.SetTake, five...), Normal, firstDay)
	p.Add(progress.Mark{Level: 4, ErrorDB: -2.5})
	p.Add(progress.Mark{Level: 2, Right: true, NoError: true})
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var again Practice
	if err := json.Unmarshal(b, &again); err != nil || !reflect.DeepEqual(p, again) {
		t.Errorf("%s gives %+v, want %+v", b, again, p)
	}
	again = played(again, always)
	done := len(again.Done)
	again.Add(progress.Mark{Right: true})
	if len(again.Done) != done || done < Normal {
		t.Errorf("%d rounds, %d after one more", done, len(again.Done))
	}
}

func TestSummary(t *testing.T) {
	struck := progress.Key{Drill: drills.SetTake, Family: source.Struck}
	var book progress.Book
	at := firstDay
	play := func(p *Practice, errDB float64, right bool) {
		turn, _ := p.Next()
		k := progress.Key{Drill: turn.Drill, Family: turn.Family}
		at = at.Add(time.Minute)
		m := progress.Mark{At: at, Drill: turn.Drill, Family: turn.Family, Level: book.Ladder(k, at).Now(),
			ErrorDB: errDB, ToleranceDB: 1, Right: right}
		book.Add(m)
		p.Add(m)
	}
	p := New(advised(drills.SetTake, source.Voice, source.Struck), Short, at)
	for range 2 {
		play(&p, 0.5, true) // voice
		play(&p, 1.4, false)
	}
	for {
		turn, ok := p.Next()
		if !ok {
			break
		}
		play(&p, 1.7, turn.Family == source.Voice)
	}
	s := p.Summary(&book, at)
	if len(s.Rounds) != len(p.Done) || s.Right != countRight(p.Done) || s.Right == 0 {
		t.Errorf("%d of %d right", s.Right, len(s.Rounds))
	}
	if s.Habit.Drill != struck.Drill || s.Habit.Family != struck.Family || s.Habit.Times < 3 || s.Habit.DB != 1.5 {
		t.Errorf("habit %+v, want three or more struck sources 1.5 dB hot", s.Habit)
	}
	if len(s.Steps) != 1 || s.Steps[0].Family != source.Voice || s.Steps[0].From != 1 || s.Steps[0].To != 1+s.Right {
		t.Errorf("steps %+v, want voice from 1 up by %d", s.Steps, s.Right)
	}
	if s.Gained() != s.Right {
		t.Errorf("%d steps gained, want %d", s.Gained(), s.Right)
	}
	if s.Rest != Break {
		t.Errorf("after one practice: rest %v", s.Rest)
	}
	for book.TakesSince(firstDay) < enoughADay {
		p := New(advised(drills.TrustIt, five[1:]...), Short, at)
		play(&p, 0, true)
	}
	if s := p.Summary(&book, at); s.Rest != Tomorrow {
		t.Errorf("after %d rounds: rest %v", enoughADay, s.Rest)
	}
	if s := p.Summary(&book, at.AddDate(0, 0, 1)); s.Rest != Break {
		t.Errorf("the next day: rest %v", s.Rest)
	}
}

// Three takes in a row to one side are a habit, two are none; of two habits
// alike the one met first is told.
func TestHabit(t *testing.T) {
	for _, tt := range []struct {
		voice, struck int // takes in a row, too hot on voices, too low on struck sources
		family        source.Family
		times         int
		db            float64
	}{
		{2, 2, "", 0, 0},
		{3, 2, source.Voice, 3, 1.5},
		{2, 3, source.Struck, 3, -2},
		{3, 3, source.Voice, 3, 1.5},
		{3, 4, source.Struck, 4, -2},
	} {
		var book progress.Book
		add := func(f source.Family, n int, errDB float64) {
			for range n {
				book.Add(progress.Mark{At: firstDay, Drill: drills.SetTake, Family: f, Level: 1, ErrorDB: errDB, ToleranceDB: 1})
			}
		}
		add(source.Voice, tt.voice, 1.6)
		add(source.Struck, tt.struck, -2.1)
		p := New(advised(drills.SetTake, source.Voice, source.Struck), Short, firstDay)
		for range 2 {
			p.Add(progress.Mark{Level: 1})
		}
		if h := p.Summary(&book, firstDay).Habit; h.Family != tt.family || h.Times != tt.times || h.DB != tt.db {
			t.Errorf("%d and %d in a row: %+v", tt.voice, tt.struck, h)
		}
	}
}

func countRight(rounds []Round) (n int) {
	for _, r := range rounds {
		if r.Right {
			n++
		}
	}
	return n
}

// How long a practice took leaves out what was long between two rounds, and a clock
// that was set back.
func TestTook(t *testing.T) {
	p := New(advised(drills.SetTake, five...), Normal, firstDay)
	for _, minute := range []float64{1, 2.5, 200, 201, 100, 102} {
		p.Add(progress.Mark{At: firstDay.Add(time.Duration(minute * float64(time.Minute))), Right: true})
	}
	if want := time.Duration((1 + 1.5 + 5 + 1 + 0 + 2) * float64(time.Minute)); p.Took != want {
		t.Errorf("it took %v, want %v", p.Took, want)
	}
}

// Estimates are compared with the errors: their mean distance, and to which side.
func TestEstimates(t *testing.T) {
	db := func(v float64) *float64 { return &v }
	p := Practice{Done: []Round{
		{Mark: progress.Mark{ErrorDB: 2}, EstimateDB: db(1)}, {Mark: progress.Mark{ErrorDB: -1}, EstimateDB: db(1)}, {Mark: progress.Mark{ErrorDB: 0.5}},
		{Mark: progress.Mark{NoError: true}, EstimateDB: db(3)},
	}}
	if e := p.Summary(&progress.Book{}, firstDay).Estimates; e != (Estimates{Rounds: 2, OffDB: 1.5, LeanDB: 0.5}) {
		t.Errorf("%+v", e)
	}
}
