package main

import (
	"fmt"
	"slices"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// drillFlags say which exercise is meant in place of a plain round.
type drillFlags struct {
	Drill drillFlag `placeholder:"ID" help:"An exercise of this drill: line-up, take, lamp, call, match, ride, desk, trust, soundcheck, chain, odd-one or alignment."`
	Level int       `default:"1" placeholder:"L" help:"Difficulty step, from 1 (${default}); with --drill."`
}

// drillFlag is the name of a drill.
type drillFlag string

// UnmarshalText refuses a drill that there is not.
func (f *drillFlag) UnmarshalText(text []byte) error {
	if _, ok := drills.DrillByID(string(text)); !ok {
		var names []string
		for _, d := range drills.Drills() {
			names = append(names, d.ID)
		}
		return fmt.Errorf("there is no drill %q; use one of %s", text, strings.Join(names, ", "))
	}
	*f = drillFlag(text)
	return nil
}

// drill returns the drill and the level that are meant: without --drill the
// standard one, off the ladder.
func (d drillFlags) drill(f roundFlags) (id string, level int, err error) {
	if d.Drill == "" {
		return drills.Standard, 0, nil
	}
	drill, _ := drills.DrillByID(string(d.Drill))
	switch {
	case d.Level < ladder.Bottom || d.Level > ladder.Top:
		err = fmt.Errorf("--level=%d: steps run from %d to %d", d.Level, ladder.Bottom, ladder.Top)
	case f.Family != "" && !slices.Contains(drill.Families, source.Family(f.Family)):
		err = fmt.Errorf("--family=%s: %q is played on %v", f.Family, drill.Name, drill.Families)
	}
	if err != nil {
		return "", 0, usageError{err}
	}
	return drill.ID, d.Level, nil
}
