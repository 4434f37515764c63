package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
)

type playCmd struct {
	Seed   *uint64     `placeholder:"N" help:"Seed of the series; needed with --moves."`
	Index  int         `default:"0" placeholder:"I" help:"Which round of the series, from 0 (${default})."`
	Family familyFlag  `placeholder:"F" help:"Family of the source, as for round."`
	Rig    *drills.Rig `placeholder:"R" help:"How the desk is lined up, as for round."`
	Moves  string      `xor:"take" placeholder:"FILE.json" help:"The take: {\"moves\":[{\"at\":FRAME,\"fader_db\":DB},...],\"lock_at\":FRAME}, frames from the start at 48 kHz."`
	Demo   bool        `xor:"take" help:"Play a complete round with a careful hand, and say what it does."`
	JSON   bool        `name:"json" help:"Print one JSON object."`
}

// demoSeed is the round that the demonstration plays if none is asked for.
const demoSeed = 4

func (c *playCmd) Run(s streams) error {
	switch {
	case c.Moves == "" && !c.Demo:
		return usageError{errors.New("play needs a take: --moves FILE.json, or --demo for a demonstration")}
	case c.Seed == nil && !c.Demo:
		return usageError{errors.New("missing flags: --seed=N")}
	}
	which := roundFlags{Seed: demoSeed, Index: c.Index, Family: c.Family, Rig: c.Rig}
	if c.Seed != nil {
		which.Seed = *c.Seed
	}
	r, err := which.round(0)
	if err != nil {
		return err
	}
	take := r.ShowMe()
	if !c.Demo {
		if take, err = readTake(c.Moves); err != nil {
			return err
		}
	}
	verdict, err := drills.Judge(r, take)
	if err != nil {
		return err
	}
	played, err := desk.Replay(r.Desk(0), take.Moves, take.LockAt)
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		return printJSON(s.out, playJSON{verdict, playedJSON{played.Last.Flicks, played.Last.Clipped}})
	case c.Demo:
		if err := narrate(s.out, r, take); err != nil {
			return err
		}
	}
	printVerdict(s.out, r, verdict, played.Last)
	return nil
}

// playJSON is a verdict, and what happened on the way to it.
type playJSON struct {
	drills.Verdict
	Played playedJSON `json:"played"`
}

// playedJSON is what the desk's meters counted from the start to the lock.
type playedJSON struct {
	Flicks  int   `json:"lamp_flicks"`
	Clipped int64 `json:"clipped_samples"`
}

// maxTakeFile bounds what is read of a take, in bytes.
const maxTakeFile = 64 << 20

func readTake(path string) (drills.Take, error) {
	f, err := os.Open(path)
	if err != nil {
		return drills.Take{}, fmt.Errorf("reading the take: %w", err)
	}
	defer f.Close()
	dec := json.NewDecoder(io.LimitReader(f, maxTakeFile))
	dec.DisallowUnknownFields()
	var take struct {
		Moves  []desk.Move `json:"moves"`
		LockAt *int64      `json:"lock_at"`
	}
	if err := dec.Decode(&take); err != nil {
		return drills.Take{}, fmt.Errorf("%s is not a take: %w", path, err)
	}
	if take.LockAt == nil {
		return drills.Take{}, fmt.Errorf("%s is not a take: lock_at is missing", path)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return drills.Take{}, fmt.Errorf("%s is not a take: something follows its closing brace", path)
	}
	return drills.Take{Moves: take.Moves, LockAt: *take.LockAt}, nil
}

// narrate says what a take does, and what the meters show after each move.
func narrate(w io.Writer, r *drills.Round, take drills.Take) error {
	low := math.Inf(-1)
	needle := make([]float64, len(take.Moves)) // highest after each move
	flicks := make([]int, len(take.Moves))     // so far
	i := -1
	_, err := desk.Watch(r.Desk(0), take.Moves, take.LockAt, func(s desk.Snapshot) {
		for i+1 < len(take.Moves) && s.At > take.Moves[i+1].At {
			i++
			needle[i] = low
		}
		if i >= 0 {
			needle[i] = max(needle[i], s.NeedleDBFS[0], s.NeedleDBFS[1])
			flicks[i] = s.Flicks
		}
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Source: %s, %s, at an unknown level.\n", r.Family, r.Kind)
	fmt.Fprintf(w, "Rig: %s.\n\n", rigWords(r.Rig))
	for i, m := range take.Moves {
		reads := fmt.Sprintf("up to %+5.1f VU", needle[i]-r.Rig.ReferenceDBFS)
		if needle[i]-r.Rig.ReferenceDBFS < -20 {
			reads = "below the scale"
		}
		fmt.Fprintf(w, "%5.1f s  fader to %+5.1f dB: needle %s, %d lamp flicks so far\n",
			float64(m.At)/audio.Rate, m.FaderDB, reads, flicks[i])
	}
	fmt.Fprintf(w, "%5.1f s  locked\n\n", float64(take.LockAt)/audio.Rate)
	return nil
}

func printVerdict(w io.Writer, r *drills.Round, v drills.Verdict, last desk.Snapshot) {
	fmt.Fprintf(w, "%s %s\n", v.Headline, v.Reason)
	fmt.Fprintf(w, "points      %d\n", v.Points)
	fmt.Fprintf(w, "fader       %+.1f dB; aim %+.1f dB, right from %+.1f to %+.1f dB\n", v.FaderDB, v.AimDB, r.WindowDB[0], r.WindowDB[1])
	fmt.Fprintf(w, "needle      %+.1f VU; this source under-reads by %.1f dB\n", v.ReadingVU, v.UnderReadDB)
	over := "ceiling"
	if r.Rig.Soft() {
		over = "lamp"
	}
	fmt.Fprintf(w, "headroom    %.1f dB to the %s\n", v.HeadroomDB, over)
	fmt.Fprintf(w, "lamp        %s, %.1f flicks a second; %d flicks on the way\n", v.Zone, v.FlicksPerS, last.Flicks)
	if !r.Rig.Soft() {
		fmt.Fprintf(w, "clipped     %d samples a turn of the source; %d on the way\n", v.Clipped, last.Clipped)
	}
	fmt.Fprintf(w, "time        %.1f s, %d moves\n", v.Seconds, v.MoveCount)
}
