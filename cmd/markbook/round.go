package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// roundFlags say which round of a series is meant.
type roundFlags struct {
	Index  int            `default:"0" placeholder:"I" help:"Which round of the series, from 0 (${default})."`
	Family *source.Family `enum:"${families}" placeholder:"F" help:"Family of the source: ${enum}. Random if not given."`
	Own    []string       `sep:"none" placeholder:"FILE" help:"Make the round from passages of this recording, WAV or FLAC, family own. May be given several times."`
	Rig    *drills.Rig    `placeholder:"R" help:"How the desk is lined up: digital, tape, or one of them with settings, as in digital:reference=-20,ceiling=-3,lamp=-6,target=0,tolerance=1. Random if not given."`
}

// Validate refuses what cannot be meant.
func (f *roundFlags) Validate() error {
	if len(f.Own) > 0 && f.Family != nil {
		return errors.New("--own and --family cannot be used together")
	}
	return nil
}

// family is the family that is meant, if one is.
func (f *roundFlags) family() source.Family {
	if f.Family == nil {
		return ""
	}
	return *f.Family
}

// drillFlags say which exercise is meant in place of a plain round.
type drillFlags struct {
	Drill *string `enum:"${drills}" placeholder:"ID" help:"An exercise of this drill: ${enum}."`
	Level int     `default:"1" placeholder:"L" help:"Difficulty step, 1 to 24 (${default}); with --drill."`
}

// exercise makes the exercise that is meant.
func (f *roundFlags) exercise(seed uint64, d drillFlags) (*drills.Exercise, error) {
	set := drills.Settings{Family: f.family(), Rig: f.Rig}
	if f.Rig != nil && f.Rig.ToleranceDB != drills.DigitalRig().ToleranceDB {
		set.ToleranceDB = f.Rig.ToleranceDB
	}
	if len(f.Own) > 0 {
		var all []source.Recording
		for _, path := range f.Own {
			all = append(all, source.Recording{Name: path, Open: func() (*wavfile.Reader, error) { return wavfile.Open(path) }})
		}
		set.Passages = source.Passages(all, nil)
	}
	id, level := drills.Standard, 0 // off the ladder
	if d.Drill != nil {
		if err := inRange(bounds{"level", float64(d.Level), ladder.Bottom, ladder.Top}); err != nil {
			return nil, usageError{err}
		}
		id, level = *d.Drill, d.Level
	}
	e, err := drills.NewExercise(id, seed, f.Index, level, set)
	if err != nil && len(f.Own) == 0 { // else the recordings may be at fault
		err = usageError{err}
	}
	return e, err
}

type roundCmd struct {
	Seed uint64 `required:"" placeholder:"N" help:"Seed of the series."`
	roundFlags
	drillFlags
	JSON bool `name:"json" help:"Print one JSON object."`
}

func (c *roundCmd) Run(s streams) error {
	e, err := c.exercise(c.Seed, c.drillFlags)
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(s.out, e)
	}
	fmt.Fprintf(s.out, "round       seed %d, index %d\n", e.Seed, e.Index)
	describe(s.out, e)
	for _, ch := range e.Channels {
		if e.Drill.Records {
			fmt.Fprintf(s.out, "start gain  %+.1f dB\n", tenth(ch.StartGainDB))
			fmt.Fprintf(s.out, "at 0 dB     needle %+.1f VU, sample peak %+.1f dBFS\n", tenth(ch.ReadingVU), tenth(ch.SamplePeakDBFS))
			fmt.Fprintf(s.out, "under-read  %.1f dB\n", tenth(ch.UnderReadDB))
		}
		if !ch.Fixed && ch.Curve == nil {
			fmt.Fprintf(s.out, "aim %-7s fader %+.1f dB, window %+.1f to %+.1f dB\n", ch.Label, tenth(ch.AimDB), tenth(ch.WindowDB[0]), tenth(ch.WindowDB[1]))
		}
	}
	for _, stage := range e.Stages {
		if !stage.Fixed {
			fmt.Fprintf(s.out, "aim %-8s%+.1f dB\n", stage.Label, tenth(stage.Aim))
		}
	}
	fmt.Fprintf(s.out, "solution    %s\n", typed(e.Solution.String()))
	return nil
}

// describe prints what an exercise asks.
func describe(w io.Writer, e *drills.Exercise) {
	step := ""
	if e.Level > 0 {
		step = fmt.Sprintf(", step %d", e.Level)
	}
	fmt.Fprintf(w, "drill       %s%s\n", e.Drill.Name, step)
	fmt.Fprintf(w, "task        %s\n", strings.TrimSpace(typed(e.Task.String())))
	for i, c := range e.Ask.Choices {
		fmt.Fprintf(w, "            %d  %s\n", i, typed(c))
	}
	if e.Seconds > 0 {
		fmt.Fprintf(w, "time        %.0f s allowed\n", e.Seconds)
	}
	fmt.Fprintf(w, "rig         %s\n", rigWords(e.Rig))
	for _, s := range e.Channels {
		fmt.Fprintf(w, "source %-4s %s: %s", s.Label, s.Sound.Family.Name(), s.Sound.Kind)
		if s.Sound.Family != source.Own {
			fmt.Fprintf(w, " (%s)", s.Sound.State())
		}
		fmt.Fprintln(w)
	}
}

// rigWords describes in a line how a rig is lined up.
func rigWords(r drills.Rig) string {
	end := fmt.Sprintf("ceiling %+.1f dBFS, lamp at %+.1f dBFS", r.CeilingDBFS, r.LampDBFS)
	if r.Soft() {
		end = fmt.Sprintf("lamp at %+.1f VU", r.LampDBFS-r.ReferenceDBFS)
	}
	return fmt.Sprintf("%s: 0 VU at %+.1f dBFS, target %.1f VU within %.1f dB, %s",
		r.Medium, r.ReferenceDBFS, r.TargetVU, r.ToleranceDB, end)
}
