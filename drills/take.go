package drills

import (
	"fmt"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
)

// Control is something of an exercise that a take moves, such as a fader.
type Control struct {
	Label    string  // "A", "left"
	Unit     string  // of its settings
	Min, Max float64 // its range
	Step     float64 // in which it moves
	Start    float64 // where it stands at the start
	Aim      float64 // where it belongs; without meaning if Fixed, or if the level moves
	Fixed    bool    // it is not the learner's
}

// Settle returns the setting that the control comes to rest at when it is moved
// to v: on one of its steps, within its range.
func (c Control) Settle(v float64) float64 { return max(c.Min, min(c.Max, c.settle(v))) }

// settle is Settle for what lies in the range.
func (c Control) settle(v float64) float64 {
	if c.Step < 1 {
		return math.Round(v/c.Step)/math.Round(1/c.Step) + 0
	}
	return math.Round(v/c.Step)*c.Step + 0
}

// Move is one move of a control: which of Exercise.Controls, to what in its unit.
type Move = desk.Move

// Take is one learner's answer: the moves, and where the round was locked.
type Take struct {
	Moves  []Move `json:"moves"`
	LockAt int64  `json:"lock_at"` // frames from the start of the round

	// What some drills ask beyond moves; nil in all others.
	Number *float64 `json:"number,omitempty"` // a called level, dB
	Choice *int     `json:"choice,omitempty"` // which one, from 0
}

// Limits of a take that Exercise.Judge accepts.
const (
	maxLock  = 4 * 3600 * audio.Rate
	maxMoves = 1 << 16
)

// Setting returns where a control stood when the take was locked.
func (e *Exercise) Setting(t Take, control int) float64 {
	c := e.Controls[control]
	at := c.Start
	for _, m := range t.Moves {
		if m.Control == control && m.At <= t.LockAt {
			at = c.settle(m.To)
		}
	}
	return at
}

// validate returns nil for a take that answers the exercise, or one sentence
// that says what is wrong with it.
func (e *Exercise) validate(t Take) error {
	switch {
	case t.LockAt < 0:
		return fmt.Errorf("take: lock_at is %d; it must not be negative", t.LockAt)
	case t.LockAt > maxLock:
		return fmt.Errorf("take: lock_at is %d, more than four hours after the start", t.LockAt)
	case len(t.Moves) > maxMoves:
		return fmt.Errorf("take: there are %d moves; at most %d are allowed", len(t.Moves), maxMoves)
	}
	last := int64(0)
	for i, m := range t.Moves {
		switch {
		case m.At < 0:
			return fmt.Errorf("take: move %d is at %d, before the round starts", i+1, m.At)
		case m.At < last:
			return fmt.Errorf("take: move %d is at %d, earlier than the one before; put moves in order of time", i+1, m.At)
		case m.At > t.LockAt:
			return fmt.Errorf("take: move %d is at %d, after the lock at %d", i+1, m.At, t.LockAt)
		case m.Control < 0 || m.Control >= len(e.Controls):
			return fmt.Errorf("take: move %d is of control %d; the exercise has controls 0 to %d", i+1, m.Control, len(e.Controls)-1)
		}
		c := e.Controls[m.Control]
		switch {
		case c.Fixed:
			return fmt.Errorf("take: move %d is of control %d (%s), which is fixed", i+1, m.Control, c.Label)
		case !(m.To >= c.Min && m.To <= c.Max):
			return fmt.Errorf("take: move %d puts control %d (%s) at %s %s; its range is %s to %s %s",
				i+1, m.Control, c.Label, number(m.To), c.Unit, number(c.Min), number(c.Max), c.Unit)
		}
		last = m.At
	}
	switch {
	case !e.Ask.Number:
		if t.Number != nil {
			return fmt.Errorf("take: number is given, but this drill asks for none")
		}
	case t.Number == nil:
		return fmt.Errorf("take: number is missing: %s", e.Ask.Text)
	case !(*t.Number >= e.Ask.Min && *t.Number <= e.Ask.Max):
		return fmt.Errorf("take: number is %s; it may be %s to %s %s", number(*t.Number), number(e.Ask.Min), number(e.Ask.Max), e.Ask.Unit)
	}
	switch n := len(e.Ask.Choices); {
	case n == 0:
		if t.Choice != nil {
			return fmt.Errorf("take: choice is given, but this drill asks for none")
		}
	case t.Choice == nil:
		return fmt.Errorf("take: choice is missing: %s", e.Ask.Text)
	case *t.Choice < 0 || *t.Choice >= n:
		return fmt.Errorf("take: choice is %d; it may be 0 to %d", *t.Choice, n-1)
	}
	return nil
}

// cut leaves out of a take what came after the time allowed.
func (e *Exercise) cut(t Take) Take {
	limit := int64(math.Round(e.Seconds * audio.Rate))
	if limit == 0 || t.LockAt <= limit {
		return t
	}
	t.LockAt = limit
	n := len(t.Moves)
	for n > 0 && t.Moves[n-1].At > limit {
		n--
	}
	t.Moves = t.Moves[:n]
	return t
}

// ShowMe returns a take that is right: a careful hand brings one control after the other
// to its aim, watches the last for three seconds and answers what is asked, within the
// time allowed.
func (e *Exercise) ShowMe() Take {
	if x, ok := e.rule.(rideRule); ok {
		return x.show(e)
	}
	t := e.Ask.right
	t.LockAt = audio.Rate
	for i, c := range e.Controls {
		if !c.Fixed && c.Aim != c.Start {
			t.Moves = append(t.Moves, c.approach(i, t.LockAt)...)
			t.LockAt = t.Moves[len(t.Moves)-1].At + audio.Rate
		}
	}
	if t.LockAt += 2 * audio.Rate; e.Ask.Text != "" {
		t.LockAt = 10 * audio.Rate
	}
	return e.inTime(t)
}

// inTime presses a take into nine tenths of the time allowed.
func (e *Exercise) inTime(t Take) Take {
	limit := 0.9 * e.Seconds * audio.Rate
	if limit == 0 || float64(t.LockAt) <= limit {
		return t
	}
	f := limit / float64(t.LockAt)
	for i := range t.Moves {
		t.Moves[i].At = int64(f * float64(t.Moves[i].At))
	}
	t.LockAt = int64(limit)
	return t
}

// approach returns the moves of a careful hand that brings a control to its aim: in
// threes, listening three seconds once it is near, on in single decibels, and the last
// step to the aim, never past it.
func (c Control) approach(control int, at int64) []Move {
	var moves []Move
	now, way := c.Start, 1.0
	if c.Aim < now {
		way = -1
	}
	to := func(db, seconds float64) {
		now = c.settle(db)
		moves = append(moves, Move{At: at, Control: control, To: now})
		at += int64(seconds * audio.Rate)
	}
	const threes, near = 3, 7
	for way*(c.Aim-now) > near {
		to(now+way*max(threes, c.Step), 0.5)
	}
	at += 3 * audio.Rate
	for way*(c.Aim-now) > 1 {
		to(now+way, 1)
	}
	to(c.Aim, 0)
	return moves
}
