package sheet

import (
	"fmt"

	"slowneedle/drills"
	"slowneedle/drills/testform"
)

// Exercise makes round i of the sheet, counted from 0: drills.NewExercise with
// the sheet's seed, i, and settings that follow from the sheet alone, so that
// every copy of the program makes the same; then the sheet's time and cover, if
// it has its own, in place of the level's. Families take turns as there: of n
// families, n rounds in a row from a multiple of n have each once.
//
// A round of an exam is made of the seed that was drawn for it. One of a test form on
// recordings has the index that the form lists for it.
//
// The error says that there is no such round, that the seed of an exam's is not
// known, or is Canonical's.
func (s Sheet) Exercise(i int) (*drills.Exercise, error) { return s.Make(i, nil) }

// Make is Exercise; pause, if it is not nil, is called between slices of the work.
func (s Sheet) Make(i int, pause func()) (*drills.Exercise, error) {
	s, err := s.Canonical()
	if err != nil {
		return nil, err
	}
	if i < 0 || i >= s.Rounds {
		return nil, fmt.Errorf("sheet: there is no round %d; it has rounds 1 to %d", i+1, s.Rounds)
	}
	if s.Form != "" && !s.Recorded {
		e, _, err := testform.Exercise(int(s.Seed), s.Form, i, pause)
		return e, err
	}
	index := i
	if s.Form != "" {
		if len(s.Index) == 0 {
			return nil, errNoRecordings
		}
		index = s.Index[i]
	}
	seed := uint64(s.Seed)
	if s.Exam {
		if !s.Drawn(i) {
			return nil, errUndrawn
		}
		seed = s.Seeds[i]
	}
	set := s.Settings(i)
	set.Pause = pause
	if s.Recorded {
		set.Passages = s.passages(pause)
	}
	e, err := drills.NewExercise(s.Drill, seed, index, s.Level, set)
	if err != nil {
		return nil, fmt.Errorf("sheet: round %d: %w", i+1, err)
	}
	switch {
	case s.Time == NoLimit:
		e.Seconds = 0
	case s.Time > 0:
		e.Seconds = float64(s.Time)
	}
	switch {
	case s.Cover == Never:
		e.View.NeedleCovered, e.View.NeedleSeconds = false, 0
	case s.Cover == Always:
		e.View.NeedleCovered, e.View.NeedleSeconds = true, 0
	case s.Cover > 0:
		e.View.NeedleCovered, e.View.NeedleSeconds = false, float64(s.Cover)
	}
	return e, nil
}

// Settings are those that round i of a canonical sheet is made with, from 0.
func (s Sheet) Settings(i int) drills.Settings {
	if s.Form != "" && !s.Recorded {
		return testform.Settings(int(s.Seed), i)
	}
	set := drills.Settings{Rig: s.Rig, ToleranceDB: s.ToleranceDB, Reserved: s.Form != ""}
	families := s.Families
	if drill, _ := drills.DrillByID(s.Drill); len(families) == 0 && s.Exam { // whose seeds are each of one round
		families = drill.Families
	}
	if len(families) > 0 {
		set.Family = drills.Turn(families, uint64(s.Seed), i)
	}
	return set
}
