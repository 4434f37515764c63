package main

import (
	"errors"
	"fmt"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/wavfile"
)

type renderCmd struct {
	Seed uint64 `required:"" placeholder:"N" help:"Seed of the series."`
	roundFlags
	Fader   float64 `placeholder:"DB" help:"Where the fader stands, -36 to 12 dB in steps of 0.1 dB; 0 if not given. Not in a series."`
	Seconds float64 `placeholder:"S" help:"Length of each round; if not given, one pass of the loop, in a series 30."`
	Bits    int     `default:"24" enum:"16,24,32" placeholder:"N" help:"Bits per sample: 16, 24 or 32 (float) (${default})."`
	Output  string  `short:"o" required:"" placeholder:"FILE.wav" help:"File to write. A series puts its answer sheet beside it, as FILE.answers.txt and FILE.answers.json."`
	Rounds  int     `placeholder:"N" help:"Write a series of N rounds for a real desk or recorder: line-up tone, then the rounds with silence between, without the medium. Its rig is digital if not given."`
	Gap     float64 `default:"8" placeholder:"S" help:"Silence between the rounds of a series, in seconds (${default})."`
	JSON    bool    `name:"json" help:"Print what was written as one JSON object."`
}

// Validate refuses what cannot be meant. The rest of a series is its plan's to check.
func (c *renderCmd) Validate() error {
	if c.Rounds != 0 && c.Fader != 0 {
		return errors.New("--fader and --rounds cannot be used together: a series goes out so that each round must come up by 0 to 12 dB")
	}
	if c.Rounds != 0 && len(c.Own) > 1 {
		return errors.New("--own is given more than once; a series is made of one recording")
	}
	if err := inRange(bounds{"fader", c.Fader, desk.FaderMin, desk.FaderMax}, bounds{"seconds", c.Seconds, 0, 3600}); err != nil {
		return err
	}
	return c.roundFlags.Validate()
}

func (c *renderCmd) Run(s streams) error {
	if c.Rounds != 0 {
		return c.series(s)
	}
	e, err := c.exercise(c.Seed, drillFlags{})
	if err != nil {
		return err
	}
	fader := desk.FaderStep(c.Fader)
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
		return printJSON(s.out, struct {
			File    string  `json:"file"`
			Seconds float64 `json:"seconds"`
			FaderDB float64 `json:"fader_db"`
		}{c.Output, seconds, fader})
	}
	fmt.Fprintf(s.out, "%s: %.1f s of %s, %s, fader at %+.1f dB\n", c.Output, seconds, sound.Family.Name(), sound.Kind, fader)
	return nil
}

// create begins the WAV file.
func (c *renderCmd) create() (*wavfile.Writer, error) {
	return wavfile.Create(c.Output, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: c.Bits, Float: c.Bits == 32})
}
