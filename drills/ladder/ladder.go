// Package ladder keeps a learner at the edge of their ability. Each drill and
// family of sources has a level from 1 up; the level follows the answers by a
// transformed up-down rule and sets how hard the next round is.
//
// The rule is the second of the up-down rules in H. Levitt, "Transformed
// Up-Down Methods in Psychoacoustics", J. Acoust. Soc. Am. 49, 467 (1971): two
// right answers in a row make it harder, one wrong answer makes it easier. It
// comes to rest where two in a row are as likely as not, p*p = 1/2, that is at
// 70.7 % right. Up to the first wrong answer each single right answer climbs,
// so that a learner does not spend an evening far below their level; from the
// first wrong answer on the rule stands as published.
package ladder

// The ends of the ladder. Above Top nothing gets harder.
const (
	Bottom = 1
	Top    = 24
)

// Target is the share of right answers the rule settles at: 1/sqrt(2).
const Target = 0.70710678

// State is where a learner stands on one ladder. The zero value is a learner
// who has not begun, on level 1. States are plain values: Next returns the
// state after one more answer and changes nothing.
type State struct {
	Level     int  `json:"level,omitempty"`     // Bottom to Top; 0 stands for Bottom
	Run       int  `json:"run,omitempty"`       // right answers since the level last changed, 0 or 1
	Rounds    int  `json:"rounds,omitempty"`    // answers so far
	Reversals int  `json:"reversals,omitempty"` // times the direction changed
	Settling  bool `json:"settling,omitempty"`  // true from the first wrong answer on
	Rising    bool `json:"rising,omitempty"`    // the last change was up
	Best      int  `json:"best,omitempty"`      // highest level answered right
}

// Now returns the level of the next round. A level beyond the ends, as a
// damaged file may hold, counts as the end.
func (s State) Now() int { return min(max(s.Level, Bottom), Top) }

// Next returns the state after an answer that was right or wrong.
func (s State) Next(right bool) State {
	s.Level = s.Now()
	s.Rounds++
	if !right {
		s.Run = 0
		if s.Rising {
			s.Reversals++
		}
		s.Settling, s.Rising = true, false
		s.Level = max(s.Level-1, Bottom)
		return s
	}
	s.Best = max(s.Best, s.Level)
	s.Run++
	if s.Settling && s.Run < 2 {
		return s
	}
	if s.Settling && !s.Rising {
		s.Reversals++
	}
	s.Run, s.Rising = 0, true
	s.Level = min(s.Level+1, Top)
	return s
}

// Settled reports whether the level has turned often enough to stand for the
// learner's ability: SettledAfter reversals (Levitt leaves out the first few).
func (s State) Settled() bool { return s.Reversals >= SettledAfter }

// SettledAfter is the number of reversals after which a ladder counts as
// settled.
const SettledAfter = 4
