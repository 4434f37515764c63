package sheet

import (
	"fmt"
	"math/rand/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// Terms is what a sheet asks of every round, levels spelled out.
type Terms struct {
	ToleranceDB   float64 // half the width of the window
	Seconds       int     // time allowed; 0 is no limit
	NeedleCovered bool    // from the start
	NeedleSeconds float64 // how long the needle stays in sight; 0 is the whole round
}

// Terms spells out what the sheet's level and its own fields say; its own
// fields win.
func (s Sheet) Terms() Terms {
	t := Terms{ToleranceDB: standingTolerance}
	if s.Level > 0 {
		p := ladder.At(s.Level)
		t.ToleranceDB, t.Seconds, t.NeedleSeconds = p.ToleranceDB, int(p.Seconds), p.NeedleSeconds
	}
	if s.ToleranceDB > 0 {
		t.ToleranceDB = s.ToleranceDB
	}
	switch {
	case s.Time == NoLimit:
		t.Seconds = 0
	case s.Time > 0:
		t.Seconds = int(s.Time)
	}
	switch {
	case s.Cover == Never:
		t.NeedleSeconds = 0
	case s.Cover == Always:
		t.NeedleCovered, t.NeedleSeconds = true, 0
	case s.Cover > 0:
		t.NeedleSeconds = float64(s.Cover)
	}
	return t
}

// Round makes round i of the sheet, counted from 0: drills.NewRound with the
// sheet's seed, i, and settings that follow from the sheet alone, so that every
// copy of the program makes the same. Families take turns as NewRound has it:
// of n families, n rounds in a row from a multiple of n have each once.
//
// The error says that there is no such round, or is Canonical's.
func (s Sheet) Round(i int) (*drills.Round, error) {
	s, err := s.Canonical()
	if err != nil {
		return nil, err
	}
	if i < 0 || i >= s.Rounds {
		return nil, fmt.Errorf("sheet: there is no round %d; it has rounds 1 to %d", i+1, s.Rounds)
	}
	set := drills.Settings{Family: s.family(i)}
	if s.Level > 0 {
		p := ladder.At(s.Level)
		set.Difficulty = p.Difficulty
		set.SpreadDB = min(2*p.StartSpreadDB, 30)
	}
	tolerance := s.Terms().ToleranceDB
	if s.Rig != nil {
		rig := *s.Rig
		rig.ToleranceDB = tolerance
		set.Rig = &rig
	}
	r, err := drills.NewRound(uint64(s.Seed), i, set)
	if err != nil || r.Rig.ToleranceDB == tolerance {
		return r, err
	}
	// The rig was drawn: the same round again with another tolerance.
	rig := r.Rig
	rig.ToleranceDB = tolerance
	set.Rig = &rig
	return drills.NewRound(uint64(s.Seed), i, set)
}

// family says whose turn it is in round i; empty if that is for the round to
// draw from all.
func (s Sheet) family(i int) source.Family {
	n := len(s.Families)
	if n == 0 {
		return ""
	}
	rng := rand.New(rand.NewPCG(uint64(s.Seed), uint64(i/n)|1<<63))
	return s.Families[rng.Perm(n)[i%n]]
}
