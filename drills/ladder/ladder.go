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

// What a pause costs, our own figures: a step for each so many days without
// practice, and how many right answers bring the steps back.
const (
	RestDays  = 30
	backAfter = 3
)

// State is where a learner stands on one ladder. The zero value is a learner
// who has not begun, on level 1. States are plain values: Next and Rest return
// the state afterwards and change nothing.
type State struct {
	Level    int  `json:"level,omitempty"`    // Bottom to Top; 0 stands for Bottom
	Run      int  `json:"run,omitempty"`      // right answers since the level last changed, 0 or 1
	Settling bool `json:"settling,omitempty"` // true from the first wrong answer on
	Lost     int  `json:"lost,omitempty"`     // levels lost to a pause and not yet brought back
	Back     int  `json:"back,omitempty"`     // right answers since the pause
}

// Now returns the level of the next round. A level beyond the ends, as a
// damaged file may hold, counts as the end.
func (s State) Now() int { return min(max(s.Level, Bottom), Top) }

// Next returns the state after an answer that was right or wrong.
func (s State) Next(right bool) State {
	s.Level = s.Now()
	if !right {
		s.Run = 0
		s.Settling = true
		s.Level = max(s.Level-1, Bottom)
		return s
	}
	if s.Lost > 0 {
		if s.Back++; s.Back == backAfter {
			s.Level = min(s.Level+s.Lost, Top)
			s.Lost, s.Back, s.Run = 0, 0, 0
		}
		return s
	}
	s.Run++
	if s.Settling && s.Run < 2 {
		return s
	}
	s.Run = 0
	s.Level = min(s.Level+1, Top)
	return s
}

// Rest returns the state after days without practice: one level lower for each
// RestDays of them. Three right answers, in a row or not, bring back what was
// lost; until then right answers do nothing else, and wrong ones make it easier
// as ever.
func (s State) Rest(days int) State {
	s.Level = s.Now()
	if lost := min(days/RestDays, s.Level-Bottom); lost > 0 {
		s.Level -= lost
		s.Lost += lost
		s.Back, s.Run = 0, 0
	}
	return s
}
