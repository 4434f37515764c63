//go:build !js

package server

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
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
	mu sync.Mutex
	sat
}

// sat is how far a sitting is. Its lists are in the order of play, and only grow.
type sat struct {
	Code, Who     string      // who by the roster's id or the skeleton of the name
	Given, Locked []time.Time // when rounds were given, and their takes locked
	Digests       []string    // of those takes
}

// advance locks the takes that have these digests, in the order of play, and gives
// the round that follows if it is asked for and there is one. What was given and
// locked before stays as it was. It returns how many takes are locked, also with an
// error.
func (x *exams) advance(ctx context.Context, c courseSheet, id, who string, digests []string, give bool) (drawn *sheet.Drawn, locked int, err error) {
	x.mu.Lock()
	one := x.sat[id]
	if one == nil {
		one = &sitting{sat: sat{Code: c.Code, Who: who}}
		x.sat[id] = one
	}
	x.mu.Unlock()
	one.mu.Lock()
	defer one.mu.Unlock()
	next, now := one.sat, x.now().UTC()
	for i, d := range digests {
		switch {
		case i < len(next.Digests) && next.Digests[i] == d:
		case i < len(next.Digests) || i >= len(next.Given):
			return nil, len(one.Locked), errLocked
		default:
			next.Locked, next.Digests = append(slices.Clip(next.Locked), now), append(slices.Clip(next.Digests), d)
		}
	}
	n := len(digests)
	give = give && n < c.Sheet.Rounds
	if give && n == len(next.Given) {
		next.Given = append(slices.Clip(next.Given), now)
	}
	changed := len(next.Given) > len(one.Given) || len(next.Locked) > len(one.Locked)
	if (give || changed) && !c.isOpen(now) {
		return nil, len(one.Locked), errExamOver
	}
	if changed {
		if err := x.store.set(ctx, keptSittings, id, next); err != nil {
			return nil, len(one.Locked), err
		}
		one.sat = next
	}
	if give {
		drawn = &c.Sheet.Draw(c.Secret, id)[n]
	}
	return drawn, len(one.Locked), nil
}

// sitting returns what is known of a hand-in for an exam.
func (x *exams) sitting(c courseSheet, id string) *handin.Sitting {
	s := &handin.Sitting{Secret: c.Secret, Given: []time.Time{}, Locked: []time.Time{}}
	x.mu.Lock()
	all := maps.Clone(x.sat)
	x.mu.Unlock()
	if all[id] == nil {
		return s
	}
	one := all[id].now()
	s.Given, s.Locked = append(s.Given, one.Given...), append(s.Locked, one.Locked...)
	for _, other := range all {
		o := other.now()
		if o.Code == one.Code && o.Who == one.Who && len(o.Given) > 0 && len(one.Given) > 0 && !o.Given[0].After(one.Given[len(one.Given)-1]) {
			s.Starts++
		}
	}
	return s
}

// now is how far a sitting is.
func (s *sitting) now() sat {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.sat
}
