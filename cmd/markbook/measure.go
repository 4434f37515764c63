package main

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"
	"time"

	"slowneedle/audio/measure"
)

// measureCmd measures any number of files. What cannot be measured is reported and the rest measured all
// the same; the exit status is then 1.
type measureCmd struct {
	JSON      bool     `name:"json" help:"Print a JSON array with one object for each file, in the order given."`
	Reference float64  `default:"${reference}" placeholder:"DBFS" help:"Level of 0 VU in dBFS (${default})."`
	Lamp      float64  `default:"${lamp}" placeholder:"DBFS" help:"Level at which the lamp lights, in dBFS (${default})."`
	Files     []string `arg:"" name:"file" help:"WAV files: PCM of 8 to 32 bits or float, 1 to 8 channels; or FLAC."`
}

// Validate refuses levels at which no meter is ever lined up.
func (m *measureCmd) Validate() error {
	if slices.Contains(m.Files, "") {
		return errors.New("a file's name is empty; name WAV files")
	}
	return inRange(bounds{"reference", m.Reference, -60, 0}, bounds{"lamp", m.Lamp, -90, 20})
}

// measured is what became of one file.
type measured struct {
	measure.Result
	err error
}

func (m *measureCmd) Run(s streams) error {
	files := m.measureAll(s)
	failed := false
	for _, f := range files {
		if f.err != nil {
			failed = true
			fmt.Fprintln(s.err, "markbook:", f.err)
		}
		for _, w := range f.Warnings {
			fmt.Fprintf(s.err, "markbook: %s: %s\n", f.File, w)
		}
	}
	var err error
	if m.JSON {
		list := make([]any, len(files))
		for i, f := range files {
			list[i] = f.Result
			if f.err != nil {
				list[i] = newFault(f.File, "", f.err)
			}
		}
		err = printJSON(s.out, list)
	} else {
		err = printMeasured(s.out, files)
	}
	if err == nil && failed {
		err = errReported
	}
	return err
}

// fileSteps are the steps of the bar that each file counts for.
const fileSteps = 1000

// measureAll measures as many files at a time as there are cores. Each file's meters run side by side as
// well, so that the last long file does not leave a core idle.
func (m *measureCmd) measureAll(s streams) []measured {
	bar := newBar(s, "measuring", fileSteps*len(m.Files))
	defer bar.Finish()
	settings := measure.Settings{ReferenceDBFS: m.Reference, LampDBFS: m.Lamp}
	files := make([]measured, len(m.Files))
	next := make(chan int)
	var working sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(m.Files)) {
		working.Go(func() {
			for i := range next {
				shown := 0
				show := func(done, frames int64) {
					now := int(fileSteps * done / max(frames, 1))
					bar.Add(now - shown)
					shown = now
				}
				f := &files[i]
				f.Result, f.err = measure.File(m.Files[i], settings, show)
				f.File = m.Files[i]
				show(1, 1)
			}
		})
	}
	for i := range m.Files {
		next <- i
	}
	close(next)
	working.Wait()
	return files
}

// printMeasured prints a table: levels to a tenth of a decibel, which is as fine as anybody
// hears. Files that failed are left out.
func printMeasured(w io.Writer, files []measured) error {
	t := newTable(w)
	heads := "\treading\tneedle\tsample\ttrue\tunder-\t\t\tintegr.\tmoment.\tshort-t.\tlamp\tclipped\t\n" +
		"length\tVU\tmax VU\tdBFS\tdBTP\tread dB\tRMS dBFS\tDC %\tLUFS\tLUFS\tLUFS\tflashes\tsamples\t  file\n"
	for _, f := range files {
		if f.err != nil {
			continue
		}
		fmt.Fprint(t, heads, length(f.Duration))
		heads = ""
		fmt.Fprintf(t, "\t%s\t%s", level(f.Reading, "%+.1f"), level(f.NeedleMax, "%+.1f"))
		for _, l := range []measure.Level{f.SamplePeak, f.TruePeak, f.UnderRead, f.RMS, f.DC, f.Integrated, f.MomentaryMax, f.ShortTermMax} {
			fmt.Fprintf(t, "\t%s", level(l, "%.1f"))
		}
		fmt.Fprintf(t, "\t%d\t%d\t  %s\n", f.LampFlicks, f.Clipped, f.File)
	}
	return t.Flush()
}

// length writes a duration to 0.1 s, or a short one to a millisecond.
func length(seconds float64) string {
	d := time.Duration(seconds * float64(time.Second))
	if d < time.Second {
		return d.Round(time.Millisecond).String()
	}
	return d.Round(100 * time.Millisecond).String()
}
