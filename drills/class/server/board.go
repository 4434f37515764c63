//go:build !js

package server

import (
	"cmp"
	"slices"
	"sync"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/roster"
)

// board is what the teacher sees of a running class. It lives in memory.
type board struct {
	most int // of those who have not handed in
	now  func() time.Time

	mu      sync.Mutex
	learner map[string]*learner // by the id of the hand-in
	removed map[string]bool     // ids that the teacher removed
	came    int                 // so far
}

// learner is one learner on the board.
type learner struct {
	number int // in the order in which they came
	code   string
	who    string
	looks  string // of who, by which names are compared
	round  int
	marks  []*client.Mark // by the sheet's rounds; nil: not played
	handed bool
	late   bool
	seen   time.Time
}

func (l *learner) name(who string) {
	if l.who != who {
		l.who, l.looks = who, handin.Skeleton(who)
	}
}

func newBoard(most int, now func() time.Time) *board {
	return &board{most: most, now: now, learner: make(map[string]*learner), removed: make(map[string]bool)}
}

// at returns a learner, or makes one. On a full board a new one takes the place
// of whoever has been silent longest and has no take yet; nil if there is nobody.
func (b *board) at(id string, handed bool) *learner {
	if l := b.learner[id]; l != nil {
		return l
	}
	playing := 0
	for _, one := range b.learner {
		if !one.handed {
			playing++
		}
	}
	if !handed && playing >= b.most && !b.makeRoom() {
		return nil
	}
	b.came++
	l := &learner{number: b.came}
	b.learner[id] = l
	return l
}

// makeRoom takes whoever has been silent longest and has no take off the board.
func (b *board) makeRoom() bool {
	oldest := ""
	for id, l := range b.learner {
		if !l.handed && len(l.marks) == 0 && (oldest == "" || l.before(b.learner[oldest])) {
			oldest = id
		}
	}
	delete(b.learner, oldest)
	return oldest != ""
}

// before reports whether a learner has been silent longer than another, or as long and
// came first.
func (l *learner) before(o *learner) bool {
	return cmp.Or(l.seen.Compare(o.seen), cmp.Compare(l.number, o.number)) < 0
}

// remove takes a learner off the board for good.
func (b *board) remove(id string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.removed[id] = true
	delete(b.learner, id)
}

// isRemoved reports whether the teacher removed an id.
func (b *board) isRemoved(id string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.removed[id]
}

// who returns the name of a learner on the board; ok is false if there is none of
// that id.
func (b *board) who(id string) (name string, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	l, ok := b.learner[id]
	if ok {
		name = l.who
	}
	return name, ok
}

// taken reports whether somebody else with a name that looks the same plays or
// has handed in a sheet.
func (b *board) taken(code, who, id string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	want := handin.Skeleton(who)
	for one, l := range b.learner {
		if one != id && l.code == code && l.looks == want {
			return true
		}
	}
	return false
}

// here returns the ids of the roster whose learners play or have handed in a
// sheet.
func (b *board) here(code string, class roster.Roster, goesBy func(who string) string) map[string]bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	ids := make(map[string]bool)
	for _, l := range b.learner {
		if one, ok := class.Find(goesBy(l.who)); ok && l.code == code {
			ids[one.ID] = true
		}
	}
	return ids
}

// progress notes how far a learner is. What is older than what is known, or
// comes after the hand-in, changes nothing. It reports false if the board is
// full.
func (b *board) progress(code string, m client.Progress) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	l := b.at(m.ID, false)
	if l == nil {
		return false
	}
	if l.handed || m.Round < l.round || len(m.Takes) < len(l.marks) {
		return true
	}
	l.name(m.Who)
	l.code, l.round, l.marks, l.seen = code, m.Round, nil, b.now()
	for i := range m.Takes {
		l.marks = append(l.marks, &m.Takes[i])
	}
	return true
}

// handed puts a stored hand-in on the board.
func (b *board) handed(h report.Submission) {
	b.mu.Lock()
	defer b.mu.Unlock()
	l := b.at(h.ID, true)
	if l.handed {
		return
	}
	l.name(h.Who)
	l.code, l.round, l.handed, l.late, l.seen = h.Code, len(h.Verdicts)+1, true, h.Late, b.now()
	l.marks = make([]*client.Mark, h.Sheet.Rounds)
	for i, v := range h.Verdicts {
		l.marks[h.RoundOf(i)] = &client.Mark{ErrorDB: v.ErrorDB, InWindow: v.InWindow, Points: v.Points}
	}
}

// learnerView is one learner as the board's page gets it.
type learnerView struct {
	ID      string `json:"id"`
	Number  int    `json:"n"`
	Who     string `json:"who,omitempty"` // only if asked for
	As      string `json:"as,omitempty"`  // name that it counts under, if that is another
	State   string `json:"state"`         // "idle", "playing", "done" or "in"
	Late    bool   `json:"late,omitempty"`
	Round   int    `json:"round"`
	IdleMin int    `json:"idle"` // minutes since the last word

	Marks []*client.Mark `json:"marks"` // by the sheet's rounds; null: not played
}

// idleAfter is how long a learner is silent before the board asks what is wrong.
const idleAfter = 3 * time.Minute

// states are in the order in which the board shows them: who may need help first.
var states = []string{"idle", "playing", "done", "in"}

// view returns the learners of a sheet by state, and in the order in which they came.
func (b *board) view(code string, rounds int, names bool) []learnerView {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.now()
	list := []learnerView{}
	for id, l := range b.learner {
		if l.code != code {
			continue
		}
		v := learnerView{ID: id, Number: l.number, Late: l.late, Round: l.round, Marks: append([]*client.Mark{}, l.marks...), IdleMin: int(now.Sub(l.seen).Minutes()), State: "playing"}
		switch {
		case l.handed:
			v.State = "in"
		case l.round > rounds:
			v.State = "done"
		case now.Sub(l.seen) > idleAfter:
			v.State = "idle"
		}
		if names {
			v.Who = l.who
		}
		list = append(list, v)
	}
	slices.SortFunc(list, func(x, y learnerView) int {
		return cmp.Or(cmp.Compare(slices.Index(states, x.State), slices.Index(states, y.State)), cmp.Compare(x.Number, y.Number))
	})
	return list
}
