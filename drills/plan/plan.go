// Package plan runs a practice: a bounded number of rounds with a plan, an
// end and a summary. It knows nothing of sounds or screens: it tells which drill
// and family is next and is told how the round went. A Practice is plain data;
// stored as JSON it goes on after a restart.
//
// Short sessions learn faster (K. Molloy and others, "Less Is More", PLoS ONE 7,
// 2012, e36929), but too little in a day does not last (D. F. Little, Y.-X.
// Zhang, B. A. Wright, Current Biology 27, 2017). So a practice has about eight
// minutes: 12 short rounds, or 6 of the drills that take twice as long. The
// drills come in blocks and the families alternate inside a block.
package plan

import (
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
)

// How long a practice is, in short rounds. A long round counts as two.
const (
	Short  = 6
	Normal = 12
	Long   = 18
)

// Turn is a round to come.
type Turn struct {
	Drill  string        `json:"drill"`
	Family source.Family `json:"family"`
	// Again is set where a round that went wrong comes back.
	Again bool `json:"again,omitempty"`
}

// Round is a round that was played.
type Round struct {
	progress.Mark
	// Again is set if it came back because it went wrong.
	Again bool `json:"again,omitempty"`
	// Untold is set if the round had no verdict: how it went is told at the end.
	Untold bool `json:"untold,omitempty"`
	// EstimateDB is what the learner thought the error to be, asked before the
	// verdict; nil: they were not asked.
	EstimateDB *float64 `json:"estimate_db,omitempty"`
}

// Practice is a practice under way or at its end. The zero value is one that is
// over without a round.
type Practice struct {
	Began time.Time `json:"began"`
	Done  []Round   `json:"done"`
	Ahead []Turn    `json:"ahead"`
	// Last is when its newest round was locked, Took how long it has taken, without
	// what was longer between two rounds than longestRound.
	Last time.Time     `json:"last"`
	Took time.Duration `json:"took"`
}

// longestRound is what more time between two rounds counts as: the practice was
// left.
const longestRound = 5 * time.Minute

// cost is how many short rounds one of a drill takes as long as.
func cost(drill string) int {
	switch drill {
	case drills.Ride, drills.WholeDesk, drills.Soundcheck, drills.Chain:
		return 2
	}
	return 1
}

// clearlyWorse is by how many standard scores a family is worse than the mean of
// the others of its drill when it gets every other round.
const clearlyWorse = 0.6

// New plans a practice of a length in short rounds from what is advised, the
// greatest need first (progress.Book.Rank). The first block is of the first
// drill, the second of the next drill among the advice; with advice on one drill
// alone there is one block. Within a block the families take turns, the neediest
// first; one that is clearly worse than the others comes every other round.
func New(advice []progress.Advice, length int, now time.Time) Practice {
	p := Practice{Began: now}
	if len(advice) == 0 {
		return p
	}
	first := advice[0].Drill
	second := slices.IndexFunc(advice, func(a progress.Advice) bool { return a.Drill != first })
	if second < 0 {
		p.Ahead = block(advice, first, length)
		return p
	}
	p.Ahead = append(block(advice, first, length-length/2), block(advice, advice[second].Drill, length/2)...)
	return p
}

// block plans rounds of one drill.
func block(advice []progress.Advice, drill string, length int) (turns []Turn) {
	var of []progress.Advice
	others := 0.0
	for _, a := range advice {
		if a.Drill == drill {
			of = append(of, a)
			others += a.Score
		}
	}
	worst := 0
	for i, a := range of {
		if a.Score > of[worst].Score {
			worst = i
		}
	}
	others -= of[worst].Score
	weak := len(of) > 2 && of[worst].Score-others/float64(len(of)-1) >= clearlyWorse
	rest := of
	if weak {
		rest = slices.Delete(slices.Clone(of), worst, worst+1)
	}
	next := 0
	for i := range max(length/cost(drill), 1) {
		a := of[worst]
		if !weak || i%2 == 1 {
			a = rest[next%len(rest)]
			next++
		}
		turns = append(turns, Turn{Drill: drill, Family: a.Family})
	}
	return turns
}

// Next returns the round that is next; ok is false at the end.
func (p *Practice) Next() (t Turn, ok bool) {
	if len(p.Ahead) == 0 {
		return Turn{}, false
	}
	return p.Ahead[0], true
}

// Add tells how the next round went. One that went wrong comes back once, after
// another of its block if there is one, in the place of the last round planned
// for the block. Of the last two of a block each makes the practice a round
// longer. Without a next round Add does nothing.
func (p *Practice) Add(m progress.Mark) {
	t, ok := p.Next()
	if !ok {
		return
	}
	m.Drill, m.Family = t.Drill, t.Family
	p.Done = append(p.Done, Round{Mark: m, Again: t.Again})
	since := p.Began
	if p.Last.After(since) {
		since = p.Last
	}
	p.Took += max(0, min(longestRound, m.At.Sub(since))) // a clock may have been set back
	p.Last = m.At
	p.Ahead = slices.Clone(p.Ahead[1:])
	if m.Right || t.Again {
		return
	}
	left := 0 // of the block
	for left < len(p.Ahead) && p.Ahead[left].Drill == t.Drill {
		left++
	}
	if left > 1 { // the next stays, to come between; the last is never one that comes back
		p.Ahead = slices.Delete(p.Ahead, left-1, left)
	}
	t.Again = true
	p.Ahead = slices.Insert(p.Ahead, min(1, left), t)
}

// Told reports whether it may be told how a round went: it had a verdict, or the
// practice is over.
func (p *Practice) Told(i int) bool { return len(p.Ahead) == 0 || !p.Done[i].Untold }

// End ends the practice early.
func (p *Practice) End() { p.Ahead = nil }
