package practice

import (
	"time"

	"slowneedle/drills"
	"slowneedle/game/page"
)

// Making is an assignment that is being made while the screen is drawn: beside the
// window's thread or, in a browser, which has one, in slices between the frames.
type Making struct {
	Began time.Time
	a     *Assignment
	done  chan error
}

// begin begins to make an assignment. The exercise is made with a pause, see drills.Settings.
func begin(a *Assignment, exercise func(pause func()) (*drills.Exercise, error)) *Making {
	m := &Making{time.Now(), a, make(chan error, 1)}
	go func() {
		pause := page.Pauser()
		if pause != nil {
			pause()
		}
		e, err := exercise(pause)
		if err == nil {
			a.Exercise = e
		}
		m.done <- err
	}()
	return m
}

// failed is an assignment that cannot be made.
func failed(err error) *Making {
	return begin(nil, func(func()) (*drills.Exercise, error) { return nil, err })
}

// Ready returns the assignment, or why there is none, once it is made; ok is false before.
func (m *Making) Ready() (a *Assignment, err error, ok bool) {
	select {
	case err := <-m.done:
		return m.a, err, true
	default:
		return nil, nil, false
	}
}

// Wait waits for the assignment.
func (m *Making) Wait() (*Assignment, error) { return m.a, <-m.done }
