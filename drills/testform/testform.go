// Package testform has test forms: fixed series of rounds that are played without
// feedback, before and after some weeks of practice, to measure what was learned.
// Their sources are of kinds that practice never uses (source.Request.Reserved).
//
// The forms A, B and C of a set are equivalent by construction. Round by round
// they have the same family and kind, in the same rig; the same of needle and
// peaks decides; and aim and under-read were matched over many rounds that were
// drawn, so that what is left of the differences cancels over the form. The table
// forms.csv has what came of that; a test makes it (-update) and holds it.
package testform

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
)

// Form is one of the forms of a set.
type Form string

// The forms: one to begin with, one for the end, one for a week later. Which of
// them is played first makes no difference.
const (
	A Form = "A"
	B Form = "B"
	C Form = "C"
)

// Forms lists them in the order in which they are offered.
var Forms = []Form{A, B, C}

// Rounds is how many rounds a form has: four of each generated family, in turns.
const Rounds = progress.FormRounds

// Sets is how many sets of forms there are, counted from 0.
const Sets = 8

// What all rounds have in common: the step, which sets the time and how the
// source is played, and the tolerance in dB.
const (
	Level       = 6
	ToleranceDB = 1.5
)

// seedOf is the seed of a set's rounds.
func seedOf(set int) uint64 { return 0x7e57_0000 + uint64(set) }

// Exercise makes round i, 0 to Rounds-1, of a form of a set, 0 to Sets-1, and returns
// the settings it was made with. The error names what there is not. See drills.Settings
// for pause.
func Exercise(set int, form Form, i int, pause func()) (*drills.Exercise, drills.Settings, error) {
	index, err := Index(set, form, i)
	if err != nil {
		return nil, drills.Settings{}, err
	}
	s := Settings(set, i)
	made := s
	made.Pause = pause
	e, err := drills.NewExercise(drills.SetTake, seedOf(set), index, Level, made)
	return e, s, err
}

// Settings are those that round i, from 0, of the forms of a set is made with.
func Settings(set, i int) drills.Settings {
	return settings(drills.Turn(source.Generated(), seedOf(set), i))
}

// settings are those of a round of a family.
func settings(family source.Family) drills.Settings {
	rig := drills.DigitalRig()
	return drills.Settings{Family: family, Rig: &rig, ToleranceDB: ToleranceDB, Reserved: true}
}

// Index returns the index of round i, 0 to Rounds-1, of a form among those of its seed.
// The error names what there is not.
func Index(set int, form Form, i int) (int, error) {
	switch {
	case set < 0 || set >= Sets:
		return 0, fmt.Errorf("test form: there is no set %d; there are 0 to %d", set, Sets-1)
	case i < 0 || i >= Rounds:
		return 0, fmt.Errorf("test form: there is no round %d; a form has rounds 1 to %d", i+1, Rounds)
	}
	row, ok := table()[key{set, form}]
	if !ok {
		return 0, fmt.Errorf("test form: there is no form %.10q; there are A, B and C", form)
	}
	return row[i], nil
}

type key struct {
	set  int
	form Form
}

// formsCSV has a line for each form: its set, its letter, and the index of each of
// its rounds.
//
//go:embed forms.csv
var formsCSV string

var table = sync.OnceValue(func() map[key][Rounds]int {
	lines, err := csv.NewReader(strings.NewReader(formsCSV)).ReadAll()
	if err != nil {
		panic(err) // it is part of the program
	}
	all := make(map[key][Rounds]int)
	for _, line := range lines[1:] {
		number := func(i int) int {
			n, _ := strconv.Atoi(line[i])
			return n
		}
		var row [Rounds]int
		for i := range row {
			row[i] = number(2 + i)
		}
		all[key{number(0), Form(line[1])}] = row
	}
	return all
})
