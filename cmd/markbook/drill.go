package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// drillFlags say which exercise is meant in place of a plain round.
type drillFlags struct {
	Drill drillFlag `placeholder:"ID" help:"An exercise of this drill: line-up, take, lamp, call, match, ride, desk or trust."`
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

// exercise makes the exercise of the drill.
func (d drillFlags) exercise(f roundFlags) (*drills.Exercise, error) {
	drill, _ := drills.DrillByID(string(d.Drill))
	switch {
	case d.Level < ladder.Bottom || d.Level > ladder.Top:
		return nil, usageError{fmt.Errorf("--level=%d: steps run from %d to %d", d.Level, ladder.Bottom, ladder.Top)}
	case f.Index < 0:
		return nil, usageError{fmt.Errorf("--index=%d: count rounds from 0", f.Index)}
	case f.Own != "":
		return nil, usageError{errors.New("--own and --drill cannot be used together")}
	case f.Family != "" && !slices.Contains(drill.Families, source.Family(f.Family)):
		return nil, usageError{fmt.Errorf("--family=%s: %q is played on %v", f.Family, drill.Name, drill.Families)}
	}
	return drills.NewExercise(drill.ID, f.Seed, f.Index, d.Level, drills.Settings{Family: source.Family(f.Family), Rig: f.Rig})
}

// describeExercise prints what an exercise asks.
func describeExercise(w io.Writer, e *drills.Exercise) {
	fmt.Fprintf(w, "%s, step %d. %s %s\n", e.Drill.Name, e.Level, typed(e.Drill.Explain[0]), typed(e.Drill.Explain[1]))
	fmt.Fprintf(w, "%s\n", typed(e.Task.String()))
	for i, c := range e.Ask.Choices {
		fmt.Fprintf(w, "  %d  %s\n", i, typed(c))
	}
	if e.Seconds > 0 {
		fmt.Fprintf(w, "Time allowed: %.0f s.\n", e.Seconds)
	}
	fmt.Fprintf(w, "Rig: %s.\n", rigWords(e.Rig))
	for _, s := range e.Strips {
		fmt.Fprintf(w, "  %-5s  %s, %s\n", s.Label, s.Sound.Family, s.Sound.Kind)
	}
	fmt.Fprintln(w)
}

// printAims prints what is right.
func printAims(w io.Writer, e *drills.Exercise) {
	for _, s := range e.Strips {
		if !s.Fixed && s.Curve == nil {
			fmt.Fprintf(w, "%-5s  aim %+.1f dB, window %+.1f to %+.1f dB\n", s.Label, s.AimDB, s.WindowDB[0], s.WindowDB[1])
		}
	}
	fmt.Fprintln(w, typed(e.Solution.String()))
}

// printExercise prints the figures of an exercise's verdict.
func printExercise(w io.Writer, e *drills.Exercise, take drills.Take, v drills.Verdict) {
	for _, p := range e.Parts(take) {
		word := "in the window"
		if !p.InWindow {
			word = fmt.Sprintf("%+.1f dB off", p.ErrorDB)
		}
		fmt.Fprintf(w, "%-5s  fader %+.1f dB, aim %+.1f dB: %s\n", p.Label, p.FaderDB, p.AimDB, word)
	}
	fmt.Fprintln(w, typed(e.Solution.String()))
	fmt.Fprintf(w, "points  %d\n", v.Points)
	fmt.Fprintf(w, "time    %.1f s, %s\n", v.Seconds, count(v.MoveCount, "move"))
}
