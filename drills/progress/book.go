package progress

import (
	"math"
	"slices"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// Book holds a learner's marks in the order they were made. The zero value is
// empty and ready. It is not for use by several goroutines at once.
type Book struct {
	pairs map[Key]*pair // by drill and family
	count int
	begun time.Time // of the first mark
	desk  *Book     // what was set on a real desk; nil: nothing
	forms []Form    // in the order in which they were begun
	heard map[drills.OddKind][]trial
}

// pair is what was done on one drill and family.
type pair struct {
	key     Key // without a rig
	m       []taken
	ladder  ladder.State
	climbed time.Time // of the latest take on the ladder
}

// taken is a mark with its place in the order.
type taken struct {
	Mark
	seq int
}

// Read makes a book of marks, oldest first.
func Read(marks []Mark) *Book {
	b := new(Book)
	for i := range marks {
		b.Add(marks[i])
	}
	return b
}

// RealDesk returns the marks of what was set on a real desk, apart from all others.
func (b *Book) RealDesk() *Book {
	if b.desk == nil {
		b.desk = &Book{}
	}
	return b.desk
}

// Add appends the newest mark. One of a test form counts there alone.
func (b *Book) Add(m Mark) {
	if m.Form != "" {
		b.addToForm(m)
		return
	}
	if m.Drill == RealDesk {
		b = b.RealDesk()
	}
	if b.pairs == nil {
		b.pairs = make(map[Key]*pair)
		b.begun = m.At
	}
	k := Key{Drill: m.Drill, Family: m.Family}
	p := b.pairs[k]
	if p == nil {
		p = &pair{key: k}
		b.pairs[k] = p
	}
	if m.Odd != "" {
		if b.heard == nil {
			b.heard = make(map[drills.OddKind][]trial)
		}
		b.heard[m.Odd] = append(b.heard[m.Odd], trial{onScale(m.Odd, m.OddDB), m.Right})
	}
	m.NoError = m.NoError || math.IsNaN(m.ErrorDB) || math.IsInf(m.ErrorDB, 0)
	p.m = append(p.m, taken{m, b.count})
	b.count++
	if m.Level > 0 {
		p.ladder = p.rested(m.At).Next(m.Right)
		if m.At.After(p.climbed) { // a clock may have been set back
			p.climbed = m.At
		}
	}
}

// rested is where the pair's ladder stands after the time without practice.
func (p *pair) rested(now time.Time) ladder.State {
	if p.climbed.IsZero() {
		return p.ladder
	}
	return p.ladder.Rest(days(p.climbed, now))
}

// days are the whole days from one time to another, 0 if that is earlier.
func days(from, to time.Time) int { return max(int(to.Sub(from)/(24*time.Hour)), 0) }

// Len is the number of marks in the book, without those of test forms and RealDesk.
func (b *Book) Len() int { return b.count }

// Ladder returns where the learner stands now on the ladder of a drill and
// family; the key's rig does not matter. A ladder not begun is the zero state.
func (b *Book) Ladder(k Key, now time.Time) ladder.State {
	if p := b.pairs[Key{Drill: k.Drill, Family: k.Family}]; p != nil {
		return p.rested(now)
	}
	return ladder.State{}
}

// points returns the marks that a key covers in order, the newest last of them
// if last > 0. The result is not to be changed.
func (b *Book) points(k Key, last int) []taken {
	var all []taken
	pairs := 0
	for _, p := range b.pairs {
		if !k.covers(p.key) {
			continue
		}
		if pairs++; pairs == 1 && k.Rig == "" {
			all = p.m[:len(p.m):len(p.m)] // shared until something is added
			continue
		}
		for i := range p.m {
			if k.Rig == "" || k.Rig == p.m[i].Rig {
				all = append(all, p.m[i])
			}
		}
	}
	if pairs > 1 {
		slices.SortFunc(all, func(a, b taken) int { return a.seq - b.seq })
	}
	if last > 0 && len(all) > last {
		all = all[len(all)-last:]
	}
	return all
}

// SameSide returns how many of the newest takes of a drill and family in a row
// were wrong to the same side, too hot or too cold, and their median error.
func (b *Book) SameSide(k Key) (takes int, db float64) {
	p := b.pairs[Key{Drill: k.Drill, Family: k.Family}]
	if p == nil {
		return 0, 0
	}
	var errs []float64
	for i := len(p.m) - 1; i >= 0; i-- {
		m := p.m[i]
		if m.Right || m.NoError || m.ErrorDB == 0 || len(errs) > 0 && m.ErrorDB*errs[0] < 0 {
			break
		}
		errs = append(errs, m.ErrorDB)
	}
	return len(errs), median(errs)
}

// TakesSince is how many takes were made from a time on.
func (b *Book) TakesSince(t time.Time) (n int) {
	for _, p := range b.pairs {
		for i := len(p.m) - 1; i >= 0 && !p.m[i].At.Before(t); i-- {
			n++
		}
	}
	return n
}
