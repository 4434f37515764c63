//go:build !js

package server

import (
	"context"
	"database/sql"
	"net/http"
	"slices"
	"sync"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

var (
	errExamOver = said.Errorf("server.exam_over", "the exam is closed; what was locked until then can be handed in")
	errExamOpen = said.Errorf("server.exam_open", "the verdicts of this exam come when the teacher has closed it")
	errLocked   = said.Errorf("server.locked", "a round that was locked cannot be played again")
	errReopen   = said.Errorf("server.reopen", "this exam was closed and its verdicts may have been seen; make another one")
)

// exams is what learners were given of exams, and have locked, by the ids of their
// hand-ins. The store has it too.
type exams struct {
	store *store
	now   func() time.Time

	mu  sync.Mutex
	sat map[string]*sitting
}

// sitting is one learner at an exam.
type sitting struct {
	code, who string // who by the roster's id or the skeleton of the name

	mu     sync.Mutex
	rounds []satRound // that were given, in the order of play
}

// satRound is one round of a sitting.
type satRound struct {
	given, locked time.Time // locked is zero while it is being played
	digest        string    // of the take
}

// advance locks the takes that have these digests, in the order of play, and gives
// the round that follows if it is asked for and there is one. What was given and
// locked before stays as it was. It returns how many takes are locked, also with an
// error.
func (x *exams) advance(ctx context.Context, c courseSheet, id, who string, digests []string, give bool) (next *sheet.Drawn, locked int, err error) {
	x.mu.Lock()
	one := x.sat[id]
	if one == nil {
		one = &sitting{code: c.code, who: who}
		x.sat[id] = one
	}
	x.mu.Unlock()
	one.mu.Lock()
	defer one.mu.Unlock()
	rounds, now := slices.Clone(one.rounds), x.now().UTC()
	for i, d := range digests {
		switch {
		case i < len(rounds) && rounds[i].digest == d:
		case i >= len(rounds) || rounds[i].digest != "":
			return nil, one.locked(), errLocked
		default:
			rounds[i].locked, rounds[i].digest = now, d
		}
	}
	n := len(digests)
	give = give && n < c.sheet.Rounds
	if give && n == len(rounds) {
		rounds = append(rounds, satRound{given: now})
	}
	changed := !slices.Equal(rounds, one.rounds)
	if (give || changed) && !c.isOpen(now) {
		return nil, one.locked(), errExamOver
	}
	if changed {
		if err := x.store.setSitting(ctx, id, one.code, one.who, rounds); err != nil {
			return nil, one.locked(), err
		}
		one.rounds = rounds
	}
	if give {
		next = &c.sheet.Draw(c.secret, id)[n]
	}
	return next, one.locked(), nil
}

// locked is how many takes are locked.
func (s *sitting) locked() int {
	n := 0
	for _, r := range s.rounds {
		if r.digest != "" {
			n++
		}
	}
	return n
}

// sitting returns what is known of a hand-in for an exam.
func (x *exams) sitting(c courseSheet, id string) *handin.Sitting {
	x.mu.Lock()
	one := x.sat[id]
	var all []*sitting
	for _, other := range x.sat {
		if one != nil && other.code == one.code && other.who == one.who {
			all = append(all, other)
		}
	}
	x.mu.Unlock()
	s := &handin.Sitting{Secret: c.secret, Given: []time.Time{}, Locked: []time.Time{}}
	if one == nil {
		return s
	}
	for _, r := range one.copy() {
		s.Given = append(s.Given, r.given)
		if !r.locked.IsZero() {
			s.Locked = append(s.Locked, r.locked)
		}
	}
	for _, other := range all {
		if r := other.copy(); len(r) > 0 && len(s.Given) > 0 && !r[0].given.After(s.Given[len(s.Given)-1]) {
			s.Starts++
		}
	}
	return s
}

func (s *sitting) copy() []satRound {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.rounds)
}

// setSitting stores the rounds of a sitting.
func (s *store) setSitting(ctx context.Context, id, code, who string, rounds []satRound) error {
	return s.do(ctx, func(tx *sql.Tx) error {
		for i, r := range rounds {
			_, err := tx.Exec(`INSERT OR REPLACE INTO sat (id, n, code, who, given, locked, digest) VALUES (?, ?, ?, ?, ?, ?, ?)`,
				id, i, code, who, millis(r.given), millis(r.locked), r.digest)
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// sittings returns what is stored of exams.
func (s *store) sittings() (map[string]*sitting, error) {
	all := make(map[string]*sitting)
	err := s.rows(`SELECT id, code, who, given, locked, digest FROM sat ORDER BY id, n`, func(scan func(...any) error) error {
		var id, code, who, digest string
		var given, locked int64
		if err := scan(&id, &code, &who, &given, &locked, &digest); err != nil {
			return err
		}
		if all[id] == nil {
			all[id] = &sitting{code: code, who: who}
		}
		all[id].rounds = append(all[id].rounds, satRound{moment(given), moment(locked), digest})
		return nil
	})
	return all, err
}

// over reports whether an exam's verdicts may be seen, after which it is not opened
// again.
func (c courseSheet) over(now time.Time) bool {
	return c.shut || !c.closes.IsZero() && !now.Before(c.closes)
}

// withheld reports whether nobody may see a sheet's verdicts, the teacher included.
func (c courseSheet) withheld(now time.Time) bool { return c.sheet.Exam && !c.over(now) }

// untold reports whether learners may not see a sheet's verdicts. A test form, which
// is played again, never has any for them.
func (c courseSheet) untold(now time.Time) bool { return c.sheet.Form != "" || c.withheld(now) }

// getVerdicts gives a learner the verdicts of an exam that is over, in the order in
// which its rounds were played.
func (s *Server) getVerdicts(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	p, ok := s.submissions[r.URL.Query().Get("id")]
	s.mu.Unlock()
	c, known := s.course.get(p.Code)
	switch {
	case !ok || !known || c.sheet.Form != "": // a test form is played again
		s.nothing(w, r)
	case c.withheld(s.now()):
		s.refuseFor(w, r, http.StatusForbidden, errExamOpen)
	default:
		writeJSON(w, http.StatusOK, client.Verdicts{Verdicts: append([]drills.Verdict{}, p.Verdicts...)})
	}
}
