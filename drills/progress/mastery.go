package progress

import (
	"time"

	"slowneedle/drills/ladder"
)

// Mastery is what a learner has mastered of one drill and family.
type Mastery struct {
	Summary     // of the newest MasteryTakes takes
	Step    int // of the ladder now
	// Settled is set once the ladder has turned SettledTurns times: it then
	// stands for the learner's ability, and SettledAt is the mean of the steps
	// at which it turned, the first two left out (H. Levitt, J. Acoust. Soc. Am.
	// 49, 467, 1971: the first turns still depend on where one began).
	Settled   bool
	SettledAt float64
	// Errors in dB of the newest takes that have one, oldest first: something
	// to show from the first take on.
	Errors []float64
}

const (
	MasteryTakes = 30
	SettledTurns = 4
	firstTurns   = 2
)

// Mastery sums up a drill and family; the key's rig does not matter. Its trends
// are over all takes.
func (b *Book) Mastery(k Key, now time.Time) Mastery {
	k.Rig = ""
	m := Mastery{Summary: b.Summary(k, MasteryTakes), Step: b.Ladder(k, now).Now()}
	all := b.Summary(k, 0)
	m.PerHundred, m.PerWeek, m.First = all.PerHundred, all.PerWeek, all.First
	p := b.pairs[k]
	if p == nil {
		return m
	}
	for _, t := range p.newest(MasteryTakes) {
		if !t.NoError {
			m.Errors = append(m.Errors, t.ErrorDB)
		}
	}
	turns := p.turns()
	if m.Settled = len(turns) >= SettledTurns; m.Settled {
		m.SettledAt = meanOf(turns[firstTurns:])
	}
	return m
}

// turns returns the steps at which the ladder turned: the highest of a way up,
// the lowest of a way down. Steps lost and brought back over a pause are no
// turns.
func (p *pair) turns() (steps []float64) {
	var s ladder.State
	rising := true
	for _, t := range p.m {
		if t.Level == 0 {
			continue
		}
		before := s.Now()
		s = s.Next(t.Right)
		if after := s.Now(); after != before && (after > before) != rising {
			steps = append(steps, float64(before))
			rising = !rising
		}
	}
	return steps
}

// A day of practice has at least practiceDay takes; days belong together if no
// more than one lies between them.
const (
	practiceDay = 6
	daysApart   = 2
)

// Streak returns how many days of practice the learner has in a row, up to now,
// and how many at best. A day of few takes is none, and one day of rest between
// does no harm.
func (b *Book) Streak(now time.Time) (current, best int) {
	takes := make(map[int64]int)
	first, today := dayOf(now), dayOf(now)
	for _, p := range b.pairs {
		for _, t := range p.m {
			d := dayOf(t.At.In(now.Location()))
			takes[d]++
			first = min(first, d)
		}
	}
	run, last := 0, int64(0)
	for d := first; d <= today; d++ {
		if takes[d] < practiceDay {
			continue
		}
		if run > 0 && d-last > daysApart {
			run = 0
		}
		run++
		last = d
		best = max(best, run)
	}
	if today-last <= daysApart {
		current = run
	}
	return current, best
}

// dayOf numbers the days of a calendar.
func dayOf(t time.Time) int64 {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / (24 * 3600)
}
