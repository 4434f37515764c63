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
	Own    string      `placeholder:"FILE.wav" help:"Make the round from a passage of this recording."`
	Rig    *drills.Rig `placeholder:"R" help:"How the desk is lined up, as for round."`
	drillFlags
	Moves string `xor:"take" placeholder:"FILE.json" help:"The take: {\"moves\":[{\"at\":FRAME,\"channel\":0,\"fader_db\":DB},...],\"lock_at\":FRAME}, frames from the start at 48 kHz; where a drill asks for it also \"number\" or \"choice\"."`
	Demo  bool   `xor:"take" help:"Play a complete round with a careful hand, and say what it does."`
	JSON  bool   `name:"json" help:"Print one JSON object."`
}

// demoSeed is the round that the demonstration plays if none is asked for.
const demoSeed = 15

// playable is a round, or an exercise of a drill.
type playable interface {
	Desk(monitorDB float64) desk.Config
	ShowMe() drills.Take
}

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
	var it playable
	var judge func(drills.Take) (drills.Verdict, error)
	if c.Drill != "" {
		e, err := c.exercise(which)
		if err != nil {
			return err
		}
		it, judge = e, e.Judge
	} else {
		r, err := which.round(0)
		if err != nil {
			return err
		}
		it, judge = r, func(t drills.Take) (drills.Verdict, error) { return drills.Judge(r, t) }
	}
	take := it.ShowMe()
	if !c.Demo {
		var err error
		if take, err = readTake(c.Moves); err != nil {
			return err
		}
	}
	verdict, err := judge(take)
	if err != nil {
		return err
	}
	if !c.JSON && c.Demo {
		if err := narrate(s.out, it, take); err != nil {
			return err
		}
	}
	played, err := desk.Replay(it.Desk(0), take.Moves, take.LockAt)
	if err != nil {
		return err
	}
	damage, err := damageOf(it, take)
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(s.out, playJSON{verdict, partsOf(it, take), damage, playedJSON{played.Flicks, played.Clipped}})
	}
	fmt.Fprintf(s.out, "%s %s\n", typed(verdict.Headline), typed(verdict.Reason))
	switch it := it.(type) {
	case *drills.Round:
		printRound(s.out, it, verdict, damage, played)
	case *drills.Exercise:
		printExercise(s.out, it, take, verdict)
	}
	return nil
}

func partsOf(it playable, take drills.Take) []drills.Part {
	if e, ok := it.(*drills.Exercise); ok {
		return e.Parts(take)
	}
	return nil
}

// damageOf returns what the medium does to the take of a round, nil for an
// exercise.
func damageOf(it playable, take drills.Take) (*damageJSON, error) {
	r, ok := it.(*drills.Round)
	if !ok {
		return nil, nil
	}
	snr, distortion, err := r.Damage(take.Fader(0))
	if err != nil {
		return nil, err
	}
	return &damageJSON{thousandth(snr), thousandth(distortion)}, nil
}

// playJSON is a verdict, and what happened on the way to it.
type playJSON struct {
	drills.Verdict
	Parts []drills.Part `json:"parts,omitempty"` // fader by fader
	*damageJSON
	Played playedJSON `json:"played"`
}

// damageJSON is what the medium does to a take.
type damageJSON struct {
	SNR        float64 `json:"snr_db"`
	Distortion float64 `json:"distortion_percent"`
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
			Channel int     `json:"channel,omitempty"`
			FaderDB float64 `json:"fader_db"`
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
		take.Moves = append(take.Moves, desk.Move{At: m.At, Channel: m.Channel, FaderDB: m.FaderDB})
	}
	return take, nil
}

// narrate says what a take does, and what the meters show after each move.
func narrate(w io.Writer, it playable, take drills.Take) error {
	line := it.Desk(0)
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
	var labels []string
	chosen := ""
	switch it := it.(type) {
	case *drills.Round:
		fmt.Fprintf(w, "Source: %s, %s, at an unknown level.\n", it.Family.Name(), it.Kind)
		fmt.Fprintf(w, "Rig: %s.\n\n", rigWords(it.Rig))
	case *drills.Exercise:
		describeExercise(w, it)
		for _, s := range it.Strips {
			labels = append(labels, "fader "+s.Label)
		}
		if take.Choice != nil {
			chosen = it.Ask.Choices[*take.Choice]
		}
	}
	if len(labels) < 2 {
		labels = []string{"fader"}
	}
	for i, m := range take.Moves {
		vu := needle[i] - line.Reference
		reads := fmt.Sprintf("up to %+5.1f VU", vu)
		if vu < -20 {
			reads = "below the scale"
		}
		fmt.Fprintf(w, "%5.1f s  %s to %+5.1f dB: needle %s, %s so far\n",
			float64(m.At)/audio.Rate, labels[m.Channel], m.FaderDB, reads, count(flicks[i], "lamp flash"))
	}
	if take.Number != nil {
		fmt.Fprintf(w, "%5.1f s  called %.1f\n", float64(take.LockAt)/audio.Rate, *take.Number)
	}
	if chosen != "" {
		fmt.Fprintf(w, "%5.1f s  chose %s\n", float64(take.LockAt)/audio.Rate, chosen)
	}
	fmt.Fprintf(w, "%5.1f s  locked\n\n", float64(take.LockAt)/audio.Rate)
	return nil
}

// printRound prints the figures of a round's verdict.
func printRound(w io.Writer, r *drills.Round, v drills.Verdict, damage *damageJSON, played desk.Result) {
	fmt.Fprintf(w, "points      %d\n", v.Points)
	fmt.Fprintf(w, "fader       %+.1f dB; aim %+.1f dB, window %+.1f to %+.1f dB\n", v.FaderDB, v.AimDB, tenth(r.WindowDB[0]), tenth(r.WindowDB[1]))
	fmt.Fprintf(w, "reading     %+.1f VU; the needle under-reads this source by %.1f dB\n", tenth(v.ReadingVU), tenth(v.UnderReadDB))
	over := "ceiling"
	if r.Rig.Soft() {
		over = "lamp"
	}
	fmt.Fprintf(w, "headroom    %.1f dB to the %s\n", tenth(v.HeadroomDB), over)
	lamp := fmt.Sprintf("%.1f flashes per second", v.FlicksPerS)
	if v.FlicksPerS == 0 && r.Rig.CeilingDBFS-v.HeadroomDB >= r.Rig.LampDBFS {
		lamp = "on all the time" // it would flick if it ever went out
	}
	fmt.Fprintf(w, "lamp        %s; %s on the way\n", lamp, count(played.Flicks, "flash"))
	if r.Rig.Soft() {
		fmt.Fprintf(w, "            it is %s\n", v.Zone)
	} else {
		fmt.Fprintf(w, "clipped     %s in one pass of the loop; %d on the way\n", count(int(v.Clipped), "sample"), played.Clipped)
	}
	fmt.Fprintf(w, "medium      %s: S/N %.0f dB, distortion %.2g %%\n", r.Rig.Medium, damage.SNR, damage.Distortion)
	fmt.Fprintf(w, "time        %.1f s, %s\n", v.Seconds, count(v.MoveCount, "move"))
}
