package handin

import (
	"time"

	"slowneedle/audio"
	"slowneedle/audio/said"
)

// Sitting is how an exam was played, as its class server saw it.
type Sitting struct {
	Secret string      `json:"secret"` // that its rounds follow from, see sheet.Draw
	Starts int         `json:"starts"` // how often it was begun under the learner's name
	Given  []time.Time `json:"given"`  // when each round was given, in the order of play
	Locked []time.Time `json:"locked"` // when its take was locked
}

// What is worth a question about a round of an exam.
const (
	shortBy = 5 * time.Second // its take lasts so much longer than the server waited for it
	longBy  = 2 * time.Minute // it lay open so much longer than it may last
)

// Exam compares a hand-in of an exam with what its server gave, and when; nil: that
// is not known.
func (h *HandIn) Exam(s *Sitting, rounds *RoundCache) []Finding {
	var list findings
	if s == nil {
		list.add(Doubt, 0, "takes", said.New("finding.no_exam", "whether its rounds are those of the exam only the class server can tell; check the hand-ins that it exports"))
		return list
	}
	order := h.Sheet.Draw(s.Secret, h.ID)
	for i, t := range h.Takes {
		switch {
		case *t.Drawn != order[i]:
			list.add(Changed, i+1, "drawn", said.New("finding.drawn", "it is not the round that the exam has here"))
			continue
		case i >= len(s.Given) || i >= len(s.Locked):
			list.add(Changed, i+1, "lock_at", said.New("finding.not_given", "its take was not locked with the server"))
			continue
		}
		took := s.Locked[i].Sub(s.Given[i])
		lasts := time.Duration(float64(t.LockAt) / audio.Rate * float64(time.Second))
		if lasts > took+shortBy {
			list.add(Doubt, i+1, "lock_at", said.New("finding.too_soon", "its take lasts %.0f s, but the server had it %.0f s after giving the round", lasts.Seconds(), took.Seconds()))
		}
		e, err := rounds.Exercise(h.Sheet, t.Drawn.Index)
		if err != nil || e.Seconds == 0 {
			continue // another finding names it, or it may last as long as one likes
		}
		if took > longBy+time.Duration(e.Seconds*float64(time.Second)) {
			list.add(Doubt, i+1, "lock_at", said.New("finding.lay_open", "it lay open for %.0f s by the server's clock; the exam allows %g s", took.Seconds(), e.Seconds))
		}
	}
	if s.Starts > 1 {
		list.add(Doubt, 0, "id", said.New("finding.starts", "the exam was begun %d times under this name: what was heard before was known", s.Starts))
	}
	return list
}
