package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/audio/wholefile"
	"slowneedle/drills"
	"slowneedle/drills/series"
)

// seriesSeconds is the length of a round if none is given.
const seriesSeconds = 30

// series writes a series of rounds for a real desk or recorder, and its answer
// sheet.
func (c *renderCmd) series(s streams) error {
	if c.Fader != nil {
		return usageError{errors.New("--fader and --rounds cannot be used together: a series goes out so that each round must come up by 0 to 12 dB")}
	}
	switch {
	case len(c.Own) > 0 && c.Family != "":
		return usageError{errors.New("--own and --family cannot be used together")}
	case len(c.Own) > 1:
		return usageError{errors.New("--own is given more than once; a series is made of one recording")}
	}
	plan := series.Plan{
		Seed: c.Seed, Index: c.Index, Count: c.Rounds, Family: source.Family(c.Family), Rig: drills.DigitalRig(),
		RoundSeconds: c.Seconds, GapSeconds: c.Gap,
	}
	if c.Rig != nil {
		plan.Rig = *c.Rig
	}
	if plan.RoundSeconds == 0 {
		plan.RoundSeconds = seriesSeconds
	}
	if err := plan.Check(); err != nil {
		return usageError{err}
	}
	if len(c.Own) > 0 {
		var err error
		if plan.Own, err = ownRecording(c.Own[0]); err != nil {
			return err
		}
	}
	wav, err := c.create()
	if err != nil {
		return err
	}
	defer wav.Abort()
	sheet, err := plan.Write(wav, func(round int) {
		if s.terminal {
			fmt.Fprintf(s.err, "\rround %d of %d", round, c.Rounds)
		}
	})
	if s.terminal {
		fmt.Fprintln(s.err)
	}
	if err != nil {
		return err
	}
	if err := wav.Close(); err != nil {
		return err
	}
	sheet.File = filepath.Base(c.Output)
	return c.writeAnswers(s, sheet)
}

// ownRecording describes the recording that rounds are passages of.
func ownRecording(path string) (*series.Own, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, readFault(path, err)
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return nil, readFault(path, err)
	}
	return &series.Own{
		File: filepath.Base(path), SHA256: hex.EncodeToString(sum.Sum(nil)),
		Open: func() (*wavfile.Reader, error) { return wavfile.Open(path) },
	}, nil
}

// writeAnswers puts the answer sheet beside the WAV file.
func (c *renderCmd) writeAnswers(s streams, sheet *series.Answers) error {
	stem := strings.TrimSuffix(c.Output, filepath.Ext(c.Output)) + ".answers"
	j, err := json.MarshalIndent(sheet, "", "  ")
	if err != nil {
		return err
	}
	text := answersText(sheet)
	if err := wholefile.WriteBytes(stem+".json", 0o644, append(j, '\n')); err != nil {
		return writeFault(stem+".json", err)
	}
	if err := wholefile.WriteBytes(stem+".txt", 0o644, []byte(text)); err != nil {
		return writeFault(stem+".txt", err)
	}
	if c.JSON {
		return printJSON(s.out, sheet)
	}
	fmt.Fprint(s.out, text)
	return nil
}

// answersText is the answer sheet for a teacher.
func answersText(a *series.Answers) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Answers to %s: seed %d, %s, %s long.\n", a.File, a.Seed, count(len(a.Rounds), "round"), clock(a.Seconds))
	fmt.Fprintf(&b, "Rig: %s.\n", rigWords(a.Rig))
	fmt.Fprintf(&b, "Line up on the tone, %s to %s: %.0f Hz at %+.1f dBFS must read 0 VU. Aims are counted in dB from there.\n\n",
		clock(a.LineUp.StartS), clock(a.LineUp.EndS), a.LineUp.Hertz, a.LineUp.LevelDBFS)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "round\tfrom\tto\taim dB\twindow from\tto\tneedle VU\tunder-read dB\tdecided by\t  source\n")
	for _, r := range a.Rounds {
		fmt.Fprintf(t, "%d\t%s\t%s\t%+.1f\t%+.1f\t%+.1f\t%+.1f\t%.1f\t%s\t  %s: %s\n", r.Number, clock(r.StartS), clock(r.EndS),
			tenth(r.AimDB), tenth(r.WindowDB[0]), tenth(r.WindowDB[1]), tenth(r.AimVU), tenth(r.UnderRead), r.DecidedBy, r.Family, r.Kind)
	}
	t.Flush()
	return b.String()
}

// clock writes seconds as minutes and seconds.
func clock(seconds float64) string {
	whole := int(seconds + 0.5)
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}
