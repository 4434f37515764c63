//go:build !js

package server

import (
	"context"
	"slices"
	"time"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// exams is what learners were given of exams, and have locked, by the ids of their
// hand-ins.
type exams struct {
	*shelf[sitting]
	now func() time.Time
}

// sitting is how far a learner is with an exam. Its lists are in the order of play, and
// only grow.
type sitting struct {
	Code, Who     string      // who by the roster's id or the skeleton of the name
	Given, Locked []time.Time // when rounds were given, and their takes locked
	Digests       []string    // of those takes
}

// advance locks the takes that have these digests, in the order of play, and gives
// the round that follows if it is asked for and there is one. What was given and
// locked before stays as it was. It returns how many takes are locked, also with an
// error.
func (x *exams) advance(ctx context.Context, c courseSheet, id, who string, digests []string, give bool) (drawn *sheet.Drawn, locked int, err error) {
	n := len(digests)
	give = give && n < c.Sheet.Rounds
	err = x.change(ctx, id, func(one *sitting) error {
		now, given, locked := x.now().UTC(), len(one.Given), len(one.Locked)
		for i, d := range digests {
			switch {
			case i < locked && one.Digests[i] == d:
			case i < locked || i >= given:
				return errLocked
			default:
				one.Locked, one.Digests = append(slices.Clip(one.Locked), now), append(slices.Clip(one.Digests), d)
			}
		}
		if give && n == given {
			one.Given = append(slices.Clip(one.Given), now)
		}
		changed := len(one.Given) > given || len(one.Locked) > locked
		if (give || changed) && !c.isOpen(now) {
			return errExamOver
		}
		if changed && one.Code == "" {
			one.Code, one.Who = c.Code, who
		}
		return nil
	})
	if err == nil && give {
		drawn = &c.Sheet.Draw(c.Secret, id)[n]
	}
	one, _ := x.get(id)
	return drawn, len(one.Locked), err
}

// begun reports whether anybody was given a round of an exam.
func (x *exams) begun(code string) bool {
	for _, one := range x.all() {
		if one.Code == code {
			return true
		}
	}
	return false
}

// sitting returns what is known of a hand-in for an exam.
func (x *exams) sitting(c courseSheet, id string) *handin.Sitting {
	s := &handin.Sitting{Secret: c.Secret, Given: []time.Time{}, Locked: []time.Time{}}
	all := x.all()
	one, ok := all[id]
	if !ok {
		return s
	}
	s.Given, s.Locked = append(s.Given, one.Given...), append(s.Locked, one.Locked...)
	for _, o := range all {
		if o.Code == one.Code && o.Who == one.Who && len(o.Given) > 0 && len(one.Given) > 0 && !o.Given[0].After(one.Given[len(one.Given)-1]) {
			s.Starts++
		}
	}
	return s
}
