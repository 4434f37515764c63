// Package progress works out how a learner is doing: bias, spread and shares with
// their uncertainty, how they change, and what to practise next.
//
// It works on marks, the few numbers of a take that statistics need. No claim
// is made on fewer than MinTakes takes: with ten takes the interval of the bias
// still reaches 0.72 standard deviations to either side, and that of the spread
// from 0.69 to 1.83 times the figure.
//
// The intervals take errors for normally distributed and takes for independent
// of each other. Where a learner now and then errs wildly, the interval of the
// spread comes out too narrow; that of the bias hardly minds.
package progress

import (
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
)

// How many takes a claim needs.
const (
	MinTakes = 10 // bias, spread and shares
	MinTrend = 20 // trends
)

// RealDesk stands in a mark's Drill for what was set on a real desk: such marks
// count nowhere but in Book.RealDesk.
const RealDesk = "real-desk"

// Mark is what statistics need of one take.
type Mark struct {
	At      time.Time     `json:"at"`
	Drill   string        `json:"drill"`
	Family  source.Family `json:"family,omitempty"`
	Rig     string        `json:"rig,omitempty"`   // "digital", "tape", or empty where a drill has none
	Level   int           `json:"level,omitempty"` // of the ladder; 0 if the take was not on it
	ErrorDB float64       `json:"error_db"`        // signed, hot is positive; without meaning if NoError
	// ToleranceDB is how large an error still counted as right; it makes errors
	// of unlike drills comparable. 0 is unknown.
	ToleranceDB float64 `json:"tolerance_db,omitempty"`
	NoError     bool    `json:"no_error,omitempty"` // the drill has no error in dB (which needle is right?)
	Right       bool    `json:"right,omitempty"`    // inside the window, or the right answer
	Points      int     `json:"points,omitempty"`   // 0 to 100
	// Odd is what was wrong with the odd one of several sounds, and OddDB how much of it
	// there was, in the drill that asks for it.
	Odd   drills.OddKind `json:"odd,omitempty"`
	OddDB float64        `json:"odd_db,omitempty"`
	// Form is the class code of the test form that the take belongs to; empty is
	// practice.
	Form string `json:"form,omitempty"`
}

// Key chooses takes. An empty field takes all.
type Key struct {
	Drill  string
	Family source.Family
	Rig    string
}

// covers reports whether the key takes in a drill and family.
func (k Key) covers(o Key) bool {
	return (k.Drill == "" || k.Drill == o.Drill) && (k.Family == "" || k.Family == o.Family)
}
