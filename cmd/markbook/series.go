package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/series"
)

// seriesSeconds is the length of a round if none is given.
const seriesSeconds = 30

// series writes a series of rounds for a real desk or recorder, and its answer
// sheet.
func (c *renderCmd) series(s streams) error {
	plan := series.Plan{
		Seed: c.Seed, Index: c.Index, Count: c.Rounds, Family: c.family(), Rig: drills.DigitalRig(),
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
	bar := newBar(s, "writing", c.Rounds)
	sheet, err := plan.Write(wav, func(round int) { bar.set(round, c.Rounds) })
	bar.Finish()
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
	text := answersText(sheet)
	err := write(stem+".json", func(w io.Writer) error { return printJSON(w, sheet) })
	if err == nil {
		err = writeBytes(stem+".txt", []byte(text))
	}
	if err != nil {
		return err
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
	t := newTable(&b)
	fmt.Fprint(t, "round\tfrom\tto\taim dB\twindow from\tto\tneedle VU\tunder-read dB\tdecided by\t  source\n")
	for _, r := range a.Rounds {
		fmt.Fprintf(t, "%d\t%s\t%s\t%+.1f\t%+.1f\t%+.1f\t%+.1f\t%.1f\t%s\t  %s: %s\n", r.Number, clock(r.StartS), clock(r.EndS),
			tenth(r.AimDB), tenth(r.WindowDB[0]), tenth(r.WindowDB[1]), tenth(r.AimVU), tenth(r.UnderRead), r.DecidedBy, r.Family.Name(), r.Kind)
	}
	t.Flush()
	return b.String()
}
