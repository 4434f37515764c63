package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
)

// roundFlags say which round is meant.
type roundFlags struct {
	Seed   uint64      `required:"" placeholder:"N" help:"Seed of the series."`
	Index  int         `default:"0" placeholder:"I" help:"Which round of the series, from 0 (${default})."`
	Family familyFlag  `placeholder:"F" help:"Family of the source: steady, voice, plucked, struck or ensemble. Random if not given."`
	Own    []string    `sep:"none" placeholder:"FILE" help:"Make the round from passages of this recording, WAV or FLAC, family own. May be given several times."`
	Rig    *drills.Rig `placeholder:"R" help:"How the desk is lined up: digital, tape, or one of them with settings, as in digital:reference=-20,ceiling=-3,lamp=-6,target=0,tolerance=1. Random if not given."`
}

// familyFlag is the family of a generated source.
type familyFlag source.Family

// UnmarshalText refuses a family that is not generated.
func (f *familyFlag) UnmarshalText(text []byte) error {
	if !slices.Contains(source.Generated(), source.Family(text)) {
		return fmt.Errorf("there is no family %q; use one of %s", text, familyNames())
	}
	*f = familyFlag(text)
	return nil
}

func familyNames() string {
	var names []string
	for _, f := range source.Generated() {
		names = append(names, string(f))
	}
	return strings.Join(names, ", ")
}

// exercise makes the exercise at a number of rounds after the one meant.
func (f roundFlags) exercise(d drillFlags, after int) (*drills.Exercise, error) {
	if f.Index < 0 {
		return nil, usageError{fmt.Errorf("--index=%d: count rounds from 0", f.Index)}
	}
	if len(f.Own) > 0 && f.Family != "" {
		return nil, usageError{errors.New("--own and --family cannot be used together")}
	}
	id, level, err := d.drill(f)
	if err != nil {
		return nil, err
	}
	index := f.Index + after
	set := drills.Settings{Family: source.Family(f.Family), Rig: f.Rig}
	if f.Rig != nil && f.Rig.ToleranceDB != drills.DigitalRig().ToleranceDB {
		set.ToleranceDB = f.Rig.ToleranceDB
	}
	if len(f.Own) > 0 {
		set.Passages = source.Passages(recordings(f.Own), nil)
	}
	return drills.NewExercise(id, f.Seed, index, level, set)
}

// recordings are the files of the learner's own at paths.
func recordings(paths []string) []source.Recording {
	var all []source.Recording
	for _, path := range paths {
		all = append(all, source.Recording{Name: path, Open: func() (*wavfile.Reader, error) { return wavfile.Open(path) }})
	}
	return all
}

type roundCmd struct {
	roundFlags
	drillFlags
	JSON bool `name:"json" help:"Print one JSON object."`
}

func (c *roundCmd) Run(s streams) error {
	e, err := c.exercise(c.drillFlags, 0)
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(s.out, e)
	}
	fmt.Fprintf(s.out, "round       seed %d, index %d\n", e.Seed, e.Index)
	describe(s.out, e)
	printAims(s.out, e)
	return nil
}

// describe prints what an exercise asks.
func describe(w io.Writer, e *drills.Exercise) {
	step := ""
	if e.Level > 0 {
		step = fmt.Sprintf(", step %d", e.Level)
	}
	fmt.Fprintf(w, "drill       %s%s\n", e.Drill.Name, step)
	fmt.Fprintf(w, "task        %s\n", typed(e.Task.String()))
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

// printAims prints what is right.
func printAims(w io.Writer, e *drills.Exercise) {
	for _, s := range e.Channels {
		if e.Drill.Records {
			fmt.Fprintf(w, "start gain  %+.1f dB\n", tenth(s.StartGainDB))
			fmt.Fprintf(w, "at 0 dB     needle %+.1f VU, sample peak %+.1f dBFS\n", tenth(s.ReadingVU), tenth(s.SamplePeakDBFS))
			fmt.Fprintf(w, "under-read  %.1f dB\n", tenth(s.UnderReadDB))
		}
		if !s.Fixed && s.Curve == nil {
			fmt.Fprintf(w, "aim %-7s fader %+.1f dB, window %+.1f to %+.1f dB\n", s.Label, tenth(s.AimDB), tenth(s.WindowDB[0]), tenth(s.WindowDB[1]))
		}
	}
	for _, s := range e.Stages {
		if !s.Fixed {
			fmt.Fprintf(w, "aim %-8s%+.1f dB\n", s.Label, tenth(s.Aim))
		}
	}
	fmt.Fprintf(w, "solution    %s\n", typed(e.Solution.String()))
}

// tenth rounds a level to the 0.1 dB that people are shown, without a zero
// below zero.
func tenth(db float64) float64 { return math.Round(db*10)/10 + 0 }

// rigWords describes in a line how a rig is lined up.
func rigWords(r drills.Rig) string {
	end := fmt.Sprintf("ceiling %+.1f dBFS, lamp at %+.1f dBFS", r.CeilingDBFS, r.LampDBFS)
	if r.Soft() {
		end = fmt.Sprintf("lamp at %+.1f VU", r.LampDBFS-r.ReferenceDBFS)
	}
	return fmt.Sprintf("%s: 0 VU at %+.1f dBFS, target %.1f VU within %.1f dB, %s",
		r.Medium, r.ReferenceDBFS, r.TargetVU, r.ToleranceDB, end)
}

func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
