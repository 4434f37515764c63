package main

import (
	"fmt"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/series"
)

type renderCmd struct {
	roundFlags
	Fader   *float64 `placeholder:"DB" help:"Where the fader stands, -36 to 12 dB in steps of 0.1 dB; 0 if not given. Not in a series."`
	Seconds float64  `placeholder:"S" help:"Length of each round; if not given, one pass of the loop, in a series 30."`
	Bits    int      `default:"24" enum:"16,24,32" placeholder:"N" help:"Bits per sample: 16, 24 or 32 (float) (${default})."`
	Output  string   `short:"o" required:"" placeholder:"FILE.wav" help:"File to write. A series puts its answer sheet beside it, as FILE.answers.txt and FILE.answers.json."`
	Rounds  int      `placeholder:"N" help:"Write a series of N rounds for a real desk or recorder: line-up tone, then the rounds with silence between, without the medium. Its rig is digital if not given."`
	Gap     float64  `default:"8" placeholder:"S" help:"Silence between the rounds of a series, in seconds (${default})."`
	JSON    bool     `name:"json" help:"Print what was written as one JSON object."`
}

// Bounds of what is rendered.
const (
	maxSeconds = 3600 // of one round alone
	maxRounds  = series.MaxRounds
)

func (c *renderCmd) Run(s streams) error {
	switch {
	case c.Fader != nil && !(*c.Fader >= desk.FaderMin && *c.Fader <= desk.FaderMax):
		return usageError{fmt.Errorf("--fader=%v: its travel is %v to %v dB", *c.Fader, desk.FaderMin, desk.FaderMax)}
	case !(c.Seconds >= 0 && c.Seconds <= maxSeconds):
		return usageError{fmt.Errorf("--seconds=%v: it may be 0 to %d", c.Seconds, maxSeconds)}
	case c.Rounds < 0 || c.Rounds > maxRounds:
		return usageError{fmt.Errorf("--rounds=%d: it may be 1 to %d", c.Rounds, maxRounds)}
	case !(c.Gap >= 0 && c.Gap <= 60):
		return usageError{fmt.Errorf("--gap=%v: it may be 0 to 60", c.Gap)}
	case c.Index > math.MaxInt-c.Rounds:
		return usageError{fmt.Errorf("--index=%d: no %s follow it; count from a lower one", c.Index, count(c.Rounds, "round"))}
	}
	if c.Rounds > 0 {
		return c.series(s)
	}
	e, err := c.exercise(drillFlags{}, 0)
	if err != nil {
		return err
	}
	fader := 0.0
	if c.Fader != nil {
		fader = desk.FaderStep(*c.Fader)
	}
	sound := e.Channels[0].Sound
	frames := int64(math.Round(c.Seconds * audio.Rate))
	if frames == 0 {
		frames = int64(sound.Len())
	}
	line := e.Desk(0)
	line.Channels[0].FaderDB = fader
	take, err := desk.Render(line, nil, frames)
	if err != nil {
		return err
	}
	out, err := c.create()
	if err != nil {
		return err
	}
	defer out.Abort()
	if err := out.Write(take[:]); err != nil {
		return err
	}
	if err := out.Close(); err != nil {
		return err
	}
	seconds := float64(frames) / audio.Rate
	if c.JSON {
		return printJSON(s.out, renderJSON{c.Output, seconds, fader})
	}
	fmt.Fprintf(s.out, "%s: %.1f s of %s, %s, fader at %+.1f dB\n", c.Output, seconds, sound.Family, sound.Kind, fader)
	return nil
}

type renderJSON struct {
	File    string  `json:"file"`
	Seconds float64 `json:"seconds"`
	FaderDB float64 `json:"fader_db"`
}

// create begins the WAV file.
func (c *renderCmd) create() (*wavfile.Writer, error) {
	return wavfile.Create(c.Output, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: c.Bits, Float: c.Bits == 32})
}
