package plan

import (
	"math"
	"time"

	"slowneedle/drills/progress"
)

// Summary is what there is to be told at the end of a practice.
type Summary struct {
	Rounds []Round // in order, a dot each
	Right  int
	Habit  Habit
	Steps  []Step
	Rest   Rest
	Took   time.Duration // without pauses
	// Estimates compares what the learner thought to be off with what they were.
	Estimates Estimates
}

// Estimates is how estimates of one's own error compare with the errors, in dB.
type Estimates struct {
	Rounds int
	OffDB  float64 // mean distance between both
	LeanDB float64 // mean of estimate less error: above zero one thinks to be hotter than one is
}

// Habit is the one habit worth a sentence; Times is 0 if there is none. "The
// third voice too hot in a row: on voices stop 1.5 dB earlier."
type Habit struct {
	Turn
	Times int     // takes in a row that were wrong to the same side
	DB    float64 // their median error to half a decibel; hot is positive
}

// habitTimes is how many in a row make a habit.
const habitTimes = 3

// Step is a change of step on a drill and family.
type Step struct {
	Turn
	From, To int
}

// Rest is what to do before the next practice.
type Rest int

// Two practices of normal length in a day are enough (the sources stand at the
// package); before that a break of ten minutes rests the ears (common practice).
const (
	Break    Rest = iota // ten minutes, then another if you like
	Tomorrow             // enough for today
)

const enoughADay = 2 * Normal

// Gained is how many steps were gained, less those that were lost.
func (s Summary) Gained() (n int) {
	for _, step := range s.Steps {
		n += step.To - step.From
	}
	return n
}

// Summary sums up the practice. The book has its takes already.
func (p *Practice) Summary(book *progress.Book, now time.Time) Summary {
	s := Summary{Rounds: p.Done, Took: p.Took, Estimates: estimates(p.Done)}
	from := make(map[progress.Key]int)
	var order []progress.Key
	for _, r := range p.Done {
		if r.Right {
			s.Right++
		}
		k := progress.Key{Drill: r.Drill, Family: r.Family}
		if _, seen := from[k]; !seen {
			from[k] = r.Level
			order = append(order, k)
		}
	}
	for _, k := range order {
		t := Turn{Drill: k.Drill, Family: k.Family}
		if to := book.Ladder(k, now).Now(); to != from[k] {
			s.Steps = append(s.Steps, Step{Turn: t, From: from[k], To: to})
		}
		if times, db := book.SameSide(k); times >= habitTimes && times > s.Habit.Times {
			s.Habit = Habit{Turn: t, Times: times, DB: math.Round(2*db) / 2}
		}
	}
	y, m, d := now.Date()
	if book.TakesSince(time.Date(y, m, d, 0, 0, 0, 0, now.Location())) >= enoughADay {
		s.Rest = Tomorrow
	}
	return s
}

// estimates compares the estimates of rounds with their errors.
func estimates(rounds []Round) (e Estimates) {
	for _, r := range rounds {
		if r.EstimateDB == nil || r.NoError {
			continue
		}
		e.Rounds++
		off := *r.EstimateDB - r.ErrorDB
		e.OffDB += math.Abs(off)
		e.LeanDB += off
	}
	if e.Rounds > 0 {
		e.OffDB /= float64(e.Rounds)
		e.LeanDB /= float64(e.Rounds)
	}
	return e
}
