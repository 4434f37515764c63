//go:build !js

package server

import (
	"slices"
	"sync"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/report"
)

// board is what the teacher sees of a running class. It lives in memory.
type board struct {
	rounds int
	most   int
	now    func() time.Time

	mu      sync.Mutex
	places  map[string]*place // by hand-in
	order   []string          // in which they came
	change  chan struct{}     // closed and made anew at every change
	stopped chan struct{}
	once    sync.Once
}

// place is one learner on the board.
type place struct {
	who    string
	round  int
	marks  []client.Mark
	handed bool
	seen   time.Time
}

func newBoard(rounds, most int, now func() time.Time) *board {
	return &board{rounds: rounds, most: most, now: now, places: make(map[string]*place),
		change: make(chan struct{}), stopped: make(chan struct{})}
}

// stop ends all views.
func (b *board) stop() { b.once.Do(func() { close(b.stopped) }) }

// at returns a learner's place. On a full board a new one takes that of who has
// been silent longest without handing in; nil if all have handed in.
func (b *board) at(id string) *place {
	p := b.places[id]
	if p == nil && len(b.order) >= b.most {
		b.drop()
	}
	if p == nil && len(b.order) < b.most {
		p = new(place)
		b.places[id] = p
		b.order = append(b.order, id)
	}
	return p
}

// drop takes who has been silent longest off the board.
func (b *board) drop() {
	oldest := -1
	for i, id := range b.order {
		if p := b.places[id]; !p.handed && (oldest < 0 || p.seen.Before(b.places[b.order[oldest]].seen)) {
			oldest = i
		}
	}
	if oldest >= 0 {
		delete(b.places, b.order[oldest])
		b.order = slices.Delete(b.order, oldest, oldest+1)
	}
}

func (b *board) changed() {
	close(b.change)
	b.change = make(chan struct{})
}

// progress notes how far a learner says they are. What is older than what is
// known, or comes after the hand-in, changes nothing. It reports false if the
// board is full.
func (b *board) progress(m client.Progress) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := b.at(m.ID)
	if p == nil {
		return false
	}
	if p.handed || m.Round < p.round || len(m.Takes) < len(p.marks) {
		return true
	}
	p.who, p.round, p.marks, p.seen = m.Who, m.Round, m.Takes, b.now()
	b.changed()
	return true
}

// handed puts a stored hand-in on the board.
func (b *board) handed(h report.Submission) {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := b.at(h.ID)
	if p == nil || p.handed {
		return
	}
	p.who, p.round, p.handed, p.seen = h.Who, len(h.Verdicts)+1, true, b.now()
	p.marks = nil
	for _, v := range h.Verdicts {
		p.marks = append(p.marks, client.Mark{ErrorDB: v.ErrorDB, InWindow: v.InWindow, Points: v.Points})
	}
	b.changed()
}

// view is the board as its page gets it.
type view struct {
	Rounds   int       `json:"rounds"`
	Handed   int       `json:"handed"`
	Learners []learner `json:"learners"`
}

type learner struct {
	Who     string `json:"who,omitempty"` // only if asked for
	Round   int    `json:"round"`
	Handed  bool   `json:"handed"`
	Marks   []mark `json:"marks"`
	IdleSec int    `json:"idle_s"` // since the last word
}

// mark is a take as the board shows it.
type mark struct {
	ErrorDB float64 `json:"e"`
	Right   bool    `json:"r"`
}

// view returns the board and a channel that is closed when it changes.
func (b *board) view(names bool) (view, <-chan struct{}) {
	b.mu.Lock()
	defer b.mu.Unlock()
	v := view{Rounds: b.rounds, Learners: []learner{}}
	now := b.now()
	for _, id := range b.order {
		p := b.places[id]
		l := learner{Round: p.round, Handed: p.handed, Marks: []mark{}, IdleSec: int(now.Sub(p.seen).Seconds())}
		if names {
			l.Who = p.who
		}
		if p.handed {
			v.Handed++
		}
		for _, m := range p.marks {
			l.Marks = append(l.Marks, mark{m.ErrorDB, m.InWindow})
		}
		v.Learners = append(v.Learners, l)
	}
	return v, b.change
}
