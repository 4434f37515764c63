package main

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/audio/wholefile"
	"slowneedle/drills"
)

// A series starts with the line-up tone and plays each round for a while.
const (
	lineUpHertz   = 1000
	lineUpSeconds = 10
	seriesSeconds = 30
	seriesFader   = -20.0 // keeps every round below its rig's ceiling
	fadeSeconds   = 0.5   // in and out of tone and rounds
)

// answers is the answer sheet of a series.
type answers struct {
	File    string         `json:"file"`
	Seed    uint64         `json:"seed"`
	Rig     drills.Rig     `json:"rig"`
	Seconds float64        `json:"seconds"`
	LineUp  lineUpAnswer   `json:"line_up"`
	Rounds  []seriesAnswer `json:"rounds"`
}

type lineUpAnswer struct {
	StartS    float64 `json:"start_s"`
	EndS      float64 `json:"end_s"`
	Hertz     float64 `json:"frequency_hz"`
	LevelDBFS float64 `json:"level_dbfs"`
}

// seriesAnswer is what one round of a series asks for. Levels and aims are
// counted from a desk that was lined up on the tone: at 0 dB the tone reads
// 0 VU.
type seriesAnswer struct {
	Number    int            `json:"number"`
	Index     int            `json:"index"`
	Family    source.Family  `json:"family"`
	Kind      string         `json:"kind"`
	StartS    float64        `json:"start_s"`
	EndS      float64        `json:"end_s"`
	ReadingVU float64        `json:"reading_vu"`
	PeakDBFS  float64        `json:"sample_peak_dbfs"`
	UnderRead float64        `json:"under_read_db"`
	AimDB     float64        `json:"aim_db"`
	WindowDB  [2]float64     `json:"window_db"`
	AimVU     float64        `json:"aim_reading_vu"`
	DecidedBy drills.Decider `json:"decided_by"`
}

// series writes a series of rounds for a real desk or recorder, and its answer
// sheet. The medium is left out: the real one takes its place.
func (c *renderCmd) series(s streams) error {
	if c.Rig == nil {
		rig := drills.DigitalRig()
		c.Rig = &rig
	}
	fader := seriesFader
	if c.Fader != nil {
		fader = desk.FaderStep(*c.Fader)
	}
	seconds := c.Seconds
	if seconds == 0 {
		seconds = seriesSeconds
	}
	wav, err := c.create()
	if err != nil {
		return err
	}
	defer wav.Abort()
	w := seriesWriter{wav: wav}
	sheet := answers{File: filepath.Base(c.Output), Seed: c.Seed, Rig: *c.Rig}

	tone := source.LineUp(c.Rig.ReferenceDBFS).Channels[0][:lineUpSeconds*audio.Rate]
	sheet.LineUp = lineUpAnswer{Hertz: lineUpHertz, LevelDBFS: c.Rig.ReferenceDBFS}
	sheet.LineUp.StartS, sheet.LineUp.EndS, err = w.play([2][]float32{tone, tone})
	if err != nil {
		return err
	}
	for i := range c.Rounds {
		if s.terminal {
			fmt.Fprintf(s.err, "\rround %d of %d", i+1, c.Rounds)
		}
		if err := w.silence(c.Gap); err != nil {
			return err
		}
		e, err := c.exercise(drillFlags{}, i)
		if err != nil {
			return err
		}
		line := e.Desk(0)
		line.Medium = medium.KindDigital
		line.Channels[0].FaderDB = fader
		take, err := desk.Render(line, nil, int64(seconds*audio.Rate))
		if err != nil {
			return err
		}
		r := e.Strips[0]
		a := seriesAnswer{
			Number: i + 1, Index: e.Index, Family: e.Family, Kind: r.Sound.Kind,
			ReadingVU: thousandth(r.ReadingVU + fader), PeakDBFS: thousandth(r.SamplePeakDBFS + fader),
			UnderRead: thousandth(r.UnderReadDB), AimDB: thousandth(r.AimDB - fader),
			WindowDB: [2]float64{thousandth(r.WindowDB[0] - fader), thousandth(r.WindowDB[1] - fader)},
			AimVU:    thousandth(r.ReadingVU + r.AimDB), DecidedBy: e.DecidedBy,
		}
		if a.StartS, a.EndS, err = w.play(take); err != nil {
			return err
		}
		sheet.Rounds = append(sheet.Rounds, a)
	}
	if s.terminal {
		fmt.Fprintln(s.err)
	}
	if err := wav.Close(); err != nil {
		return err
	}
	sheet.Seconds = float64(w.frames) / audio.Rate
	return c.writeAnswers(s, sheet)
}

// writeAnswers puts the answer sheet beside the WAV file.
func (c *renderCmd) writeAnswers(s streams, sheet answers) error {
	stem := strings.TrimSuffix(c.Output, filepath.Ext(c.Output)) + ".answers"
	j, err := json.MarshalIndent(sheet, "", "  ")
	if err != nil {
		return err
	}
	text := sheet.text()
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

// text is the answer sheet for a teacher.
func (a answers) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Answers to %s: seed %d, %s, %s long.\n", a.File, a.Seed, count(len(a.Rounds), "round"), clock(a.Seconds))
	fmt.Fprintf(&b, "Rig: %s.\n", rigWords(a.Rig))
	fmt.Fprintf(&b, "Line up on the tone, %s to %s: %d Hz at %+.1f dBFS must read 0 VU. Aims are counted in dB from there.\n\n",
		clock(a.LineUp.StartS), clock(a.LineUp.EndS), lineUpHertz, a.LineUp.LevelDBFS)
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

// seriesWriter writes one stretch after the other and knows where it is.
type seriesWriter struct {
	wav    *wavfile.Writer
	frames int64
}

// play writes a stretch, faded in and out, and returns where it begins and
// ends in seconds.
func (w *seriesWriter) play(x [2][]float32) (start, end float64, err error) {
	n := len(x[0])
	fade := min(int(fadeSeconds*audio.Rate), n/2)
	faded := [][]float32{slices.Clone(x[0]), slices.Clone(x[1])} // the two sides may be one slice
	for _, ch := range faded {
		for i := range fade {
			g := float32(i) / float32(fade)
			ch[i] *= g
			ch[n-1-i] *= g
		}
	}
	start = float64(w.frames) / audio.Rate
	w.frames += int64(n)
	return start, float64(w.frames) / audio.Rate, w.wav.Write(faded)
}

// silence writes so many seconds of nothing.
func (w *seriesWriter) silence(seconds float64) error {
	n := int(seconds * audio.Rate)
	w.frames += int64(n)
	return w.wav.Write([][]float32{make([]float32, n), make([]float32, n)})
}

// thousandth rounds a level to the 0.001 dB that JSON carries.
func thousandth(db float64) float64 { return math.Round(db*1000)/1000 + 0 }
