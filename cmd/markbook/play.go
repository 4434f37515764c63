package main

import (
	"errors"
	"fmt"
	"io"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/drills/strict"
)

type playCmd struct {
	Seed   *uint64     `placeholder:"N" help:"Seed of the series; needed with --moves."`
	Index  int         `default:"0" placeholder:"I" help:"Which round of the series, from 0 (${default})."`
	Family familyFlag  `placeholder:"F" help:"Family of the source, as for round."`
	Own    []string    `sep:"none" placeholder:"FILE" help:"Make the round from passages of this recording, WAV or FLAC. May be given several times."`
	Rig    *drills.Rig `placeholder:"R" help:"How the desk is lined up, as for round."`
	drillFlags
	Moves string `xor:"take" placeholder:"FILE.json" help:"The take: {\"moves\":[{\"at\":FRAME,\"control\":0,\"to\":DB},...],\"lock_at\":FRAME}, frames from the start at 48 kHz, controls are the faders in order; where a drill asks for it also \"number\" or \"choice\"."`
	Demo  bool   `xor:"take" help:"Play a complete round with a careful hand, and say what it does."`
	JSON  bool   `name:"json" help:"Print one JSON object."`
}

// demoSeed is the round that the demonstration plays if none is asked for.
const demoSeed = 15

func (c *playCmd) Run(s streams) error {
	switch {
	case c.Moves == "" && !c.Demo:
		return usageError{errors.New("play needs a take: --moves FILE.json, or --demo for a demonstration")}
	case c.Seed == nil && !c.Demo:
		return usageError{errors.New("missing flags: --seed=N")}
	}
	which := roundFlags{Seed: demoSeed, Index: c.Index, Family: c.Family, Own: c.Own, Rig: c.Rig}
	if c.Seed != nil {
		which.Seed = *c.Seed
	}
	e, err := which.exercise(c.drillFlags, 0)
	if err != nil {
		return err
	}
	take := e.ShowMe()
	if !c.Demo {
		if take, err = readTake(c.Moves); err != nil {
			return err
		}
	}
	verdict, err := e.Judge(take)
	if err != nil {
		return err
	}
	if !c.JSON && c.Demo {
		if err := narrate(s.out, e, take); err != nil {
			return err
		}
	}
	played, err := desk.Replay(e.Desk(0), drills.DeskMoves(take.Moves), take.LockAt)
	if err != nil {
		return err
	}
	parts := e.Parts(take)
	if e.Drill.Records {
		parts = nil // the verdict has it all
	}
	if c.JSON {
		return printJSON(s.out, playJSON{verdict, parts, playedJSON{played.Flicks, played.Clipped}})
	}
	fmt.Fprintf(s.out, "%s %s\n", typed(verdict.Headline), typed(verdict.Reason))
	for _, p := range parts {
		word := "in the window"
		if !p.InWindow {
			word = fmt.Sprintf("%+.1f dB off", p.ErrorDB)
		}
		fmt.Fprintf(s.out, "%-17sfader %+.1f dB, aim %+.1f dB: %s\n", p.Label, p.FaderDB, p.AimDB, word)
	}
	fmt.Fprintf(s.out, "points           %d\n", verdict.Points)
	for _, f := range e.Figures(verdict) {
		fmt.Fprintf(s.out, "%-17s%s\n", typed(f.Name.String()), typed(f.String()))
	}
	way := count(played.Flicks, "lamp flash")
	if !e.Rig.Soft() {
		way += ", " + count(int(played.Clipped), "sample") + " clipped"
	}
	fmt.Fprintf(s.out, "on the way       %s\n", way)
	fmt.Fprintf(s.out, "solution         %s\n", typed(e.Solution.String()))
	return nil
}

// playJSON is a verdict, and what happened on the way to it.
type playJSON struct {
	drills.Verdict
	Parts  []drills.Part `json:"parts,omitempty"` // fader by fader
	Played playedJSON    `json:"played"`
}

// playedJSON is what the desk's meters counted from the start to the lock.
type playedJSON struct {
	Flicks  int   `json:"lamp_flicks"`
	Clipped int64 `json:"clipped_samples"`
}

// maxTakeFile bounds what is read of a take, in bytes.
const maxTakeFile = 64 << 20

// readTake reads a take. The error names the file and the field.
func readTake(path string) (drills.Take, error) {
	data, err := readWhole(path, maxTakeFile)
	if err != nil {
		return drills.Take{}, err
	}
	var f struct {
		Moves []struct {
			At      int64   `json:"at"`
			Control int     `json:"control,omitempty"`
			To      float64 `json:"to"`
		} `json:"moves,omitempty"`
		LockAt int64    `json:"lock_at"`
		Number *float64 `json:"number,omitempty"`
		Choice *int     `json:"choice,omitempty"`
	}
	if err := strict.Decode(data, &f); err != nil {
		return drills.Take{}, fmt.Errorf("%s is not a take: %w", path, err)
	}
	take := drills.Take{LockAt: f.LockAt, Number: f.Number, Choice: f.Choice}
	for _, m := range f.Moves {
		take.Moves = append(take.Moves, drills.Move(m))
	}
	return take, nil
}

// narrate describes what a take does, and what the meters show after each move.
func narrate(w io.Writer, e *drills.Exercise, take drills.Take) error {
	line := e.Desk(0)
	needle := make([]float64, len(take.Moves)) // highest after each move
	flicks := make([]int, len(take.Moves))     // so far
	i := -1
	_, err := desk.Watch(line, drills.DeskMoves(take.Moves), take.LockAt, func(s desk.Snapshot) {
		for i+1 < len(take.Moves) && s.At > take.Moves[i+1].At {
			i++
			needle[i] = math.Inf(-1)
		}
		if i >= 0 {
			needle[i] = max(needle[i], s.NeedleDBFS[0], s.NeedleDBFS[1])
			flicks[i] = s.Flicks
		}
	})
	if err != nil {
		return err
	}
	describe(w, e)
	fmt.Fprintln(w)
	name := func(int) string { return "fader" }
	if len(e.Controls) > 1 {
		name = func(i int) string { return "fader " + e.Controls[i].Label }
	}
	if len(e.Stages) > 0 {
		name = func(i int) string { return e.Controls[i].Label }
	}
	for i, m := range take.Moves {
		vu := needle[i] - line.Reference
		reads := fmt.Sprintf("up to %+5.1f VU", vu)
		if vu < -20 {
			reads = "below the scale"
		}
		fmt.Fprintf(w, "%5.1f s  %s to %+5.1f dB: needle %s, %s so far\n",
			float64(m.At)/audio.Rate, name(m.Control), m.To, reads, count(flicks[i], "lamp flash"))
	}
	if take.Number != nil {
		fmt.Fprintf(w, "%5.1f s  called %.1f\n", float64(take.LockAt)/audio.Rate, *take.Number)
	}
	if take.Choice != nil {
		fmt.Fprintf(w, "%5.1f s  chose %s\n", float64(take.LockAt)/audio.Rate, e.Ask.Choices[*take.Choice])
	}
	fmt.Fprintf(w, "%5.1f s  locked\n\n", float64(take.LockAt)/audio.Rate)
	return nil
}
