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
	Seed *uint64 `placeholder:"N" help:"Seed of the series; needed with --moves."`
	roundFlags
	drillFlags
	Moves string `xor:"take" placeholder:"FILE.json" help:"The take: {\"moves\":[{\"at\":FRAME,\"control\":0,\"to\":DB},...],\"lock_at\":FRAME}, frames from the start at 48 kHz, controls are the faders in order; where a drill asks for it also \"number\" or \"choice\"."`
	Demo  bool   `xor:"take" help:"Play a complete round with a careful hand, and say what it does."`
	JSON  bool   `name:"json" help:"Print one JSON object."`
}

// demoSeed is the round that the demonstration plays if none is asked for.
const demoSeed = 15

// Validate wants a take, and a round for it.
func (c *playCmd) Validate() error {
	switch {
	case c.Moves == "" && !c.Demo:
		return errors.New("it needs a take: --moves FILE.json, or --demo for a demonstration")
	case c.Seed == nil && !c.Demo:
		return errors.New("missing flags: --seed=N")
	}
	return c.roundFlags.Validate()
}

func (c *playCmd) Run(s streams) error {
	seed := uint64(demoSeed)
	if c.Seed != nil {
		seed = *c.Seed
	}
	e, err := c.exercise(seed, c.drillFlags)
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
	played, err := desk.Replay(e.Desk(0), take.Moves, take.LockAt)
	if err != nil {
		return err
	}
	parts := e.Parts(take)
	if e.Drill.Records {
		parts = nil // the verdict has it all
	}
	if c.JSON {
		j := playJSON{Verdict: verdict, Parts: parts}
		j.Played.Flicks, j.Played.Clipped = played.Flicks, played.Clipped
		return printJSON(s.out, j)
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
	if len(take.Moves) > 0 {
		way := count(played.Flicks, "lamp flash")
		if !e.Rig.Soft() {
			way += ", " + count(int(played.Clipped), "sample") + " clipped"
		}
		fmt.Fprintf(s.out, "on the way       %s\n", way)
	}
	fmt.Fprintf(s.out, "solution         %s\n", typed(e.Solution.String()))
	return nil
}

// playJSON is a verdict, and what the desk's meters counted from the start to the lock.
type playJSON struct {
	drills.Verdict
	Parts  []drills.Part `json:"parts,omitempty"` // fader by fader
	Played struct {
		Flicks  int   `json:"lamp_flicks"`
		Clipped int64 `json:"clipped_samples"`
	} `json:"played"`
}

// readTake reads a take, in which moves may be left out. The error names the file and
// the field.
func readTake(path string) (drills.Take, error) {
	return readAs(path, " is not a take", 64<<20, func(data []byte) (drills.Take, error) {
		var f struct {
			Moves  []drills.Move `json:"moves,omitempty"`
			LockAt int64         `json:"lock_at"`
			Number *float64      `json:"number,omitempty"`
			Choice *int          `json:"choice,omitempty"`
		}
		err := strict.Decode(data, &f)
		return drills.Take(f), err
	})
}

// narrate describes what a take does, and what the meters show after each move.
func narrate(w io.Writer, e *drills.Exercise, take drills.Take) error {
	line := e.Desk(0)
	needle := make([]float64, len(take.Moves)) // highest after each move
	flicks := make([]int, len(take.Moves))     // so far
	i := -1
	_, err := desk.Watch(line, take.Moves, take.LockAt, func(s desk.Snapshot) {
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
	for i, m := range take.Moves {
		name := "fader"
		switch {
		case len(e.Stages) > 0:
			name = e.Controls[m.Control].Label
		case len(e.Controls) > 1:
			name = "fader " + e.Controls[m.Control].Label
		}
		vu := needle[i] - line.Reference
		reads := fmt.Sprintf("up to %+5.1f VU", vu)
		if vu < -20 {
			reads = "below the scale"
		}
		fmt.Fprintf(w, "%5.1f s  %s to %+5.1f dB: needle %s, %s so far\n",
			float64(m.At)/audio.Rate, name, m.To, reads, count(flicks[i], "lamp flash"))
	}
	locked := float64(take.LockAt) / audio.Rate
	if take.Number != nil {
		fmt.Fprintf(w, "%5.1f s  called %.1f\n", locked, *take.Number)
	}
	if take.Choice != nil {
		fmt.Fprintf(w, "%5.1f s  chose %s\n", locked, e.Ask.Choices[*take.Choice])
	}
	fmt.Fprintf(w, "%5.1f s  locked\n\n", locked)
	return nil
}
