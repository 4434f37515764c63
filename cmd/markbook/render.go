package main

import (
	"fmt"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
)

type renderCmd struct {
	roundFlags
	Fader   float64 `default:"0" placeholder:"DB" help:"Where the fader stands, -36 to 12 dB (${default})."`
	Seconds float64 `placeholder:"S" help:"How much to render; one turn of the source if not given."`
	Bits    int     `default:"24" enum:"16,24,32" placeholder:"N" help:"Bits a sample: 16, 24 or 32, which is float (${default})."`
	Output  string  `short:"o" required:"" placeholder:"FILE.wav" help:"File to write."`
}

// maxSeconds is the longest stretch of one round that is rendered.
const maxSeconds = 3600

func (c *renderCmd) Run(s streams) error {
	if !(c.Fader >= desk.FaderMin && c.Fader <= desk.FaderMax) {
		return usageError{fmt.Errorf("--fader=%v: its travel is %v to %v dB", c.Fader, desk.FaderMin, desk.FaderMax)}
	}
	if !(c.Seconds >= 0 && c.Seconds <= maxSeconds) {
		return usageError{fmt.Errorf("--seconds=%v: it may be up to %d", c.Seconds, maxSeconds)}
	}
	r, err := c.round(0)
	if err != nil {
		return err
	}
	frames := int64(math.Round(c.Seconds * audio.Rate))
	if frames == 0 {
		frames = int64(r.Sound.Len())
	}
	out, err := wavfile.Create(c.Output, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: c.Bits, Float: c.Bits == 32})
	if err != nil {
		return err
	}
	defer out.Abort()
	if err := renderRound(out, r, c.Fader, frames); err != nil {
		return err
	}
	if err := out.Close(); err != nil {
		return err
	}
	fmt.Fprintf(s.err, "wrote %s: %.1f s of %s at fader %+.1f dB\n", c.Output, float64(frames)/audio.Rate, r.Family, c.Fader)
	return nil
}

// renderRound writes what the medium of a round records with the fader at a
// setting from the start.
func renderRound(out *wavfile.Writer, r *drills.Round, fader float64, frames int64) error {
	line := r.Desk(0)
	line.Channels[0].FaderDB = fader
	take, err := desk.Render(line, nil, frames)
	if err != nil {
		return err
	}
	return out.Write(take[:])
}
