package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"

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
	for _, l := range []struct {
		name          string
		value, lo, hi float64
	}{
		{"--reference", m.Reference, -60, 0},
		{"--lamp", m.Lamp, -90, 20},
	} {
		if !(l.value >= l.lo && l.value <= l.hi) { // not a number included
			return fmt.Errorf("%s: %g dBFS is not between %g and %g", l.name, l.value, l.lo, l.hi)
		}
	}
	if slices.Contains(m.Files, "") {
		return errors.New("a file's name is empty; name WAV files")
	}
	return nil
}

// measured is what became of one file.
type measured struct {
	measure.Result
	err error
}

func (m *measureCmd) Run(s streams) error {
	files := m.measureAll(s)
	var failed bool
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
		err = writeMeasuredJSON(s.out, files)
	} else {
		err = writeMeasuredTable(s.out, files)
	}
	if err != nil {
		return fmt.Errorf("printing the results: %w", err)
	}
	if failed {
		return errReported
	}
	return nil
}

// measureAll measures as many files at a time as there are cores. Each file's meters run side by side as
// well, so that the last long file does not leave a core idle.
func (m *measureCmd) measureAll(s streams) []measured {
	progress := newFileProgress(m.Files, s)
	defer progress.finish()
	settings := measure.Settings{ReferenceDBFS: m.Reference, LampDBFS: m.Lamp}
	files := make([]measured, len(m.Files))
	next := make(chan int)
	var working sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(m.Files)) {
		working.Go(func() {
			for i := range next {
				f := &files[i]
				f.Result, f.err = measure.File(m.Files[i], settings, progress.of(i))
				f.File = m.Files[i]
				progress.show(i, progress.sizes[i])
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

// writeMeasuredJSON prints one array. A file that could not be measured has only its name and the fault.
func writeMeasuredJSON(out io.Writer, files []measured) error {
	list := make([]any, len(files))
	for i, f := range files {
		if f.err == nil {
			list[i] = f.Result
			continue
		}
		list[i] = struct {
			File  string `json:"file"`
			Error string `json:"error"`
		}{f.File, strings.TrimPrefix(f.err.Error(), f.File+": ")}
	}
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(list)
}

// fileProgress shows how many bytes of some files have been measured.
type fileProgress struct {
	bar
	sizes []int64 // bytes of each file
	shown []int64 // bytes already shown of each
}

func newFileProgress(files []string, s streams) *fileProgress {
	p := &fileProgress{sizes: make([]int64, len(files)), shown: make([]int64, len(files))}
	var total int64
	for i, name := range files {
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			p.sizes[i] = info.Size()
		}
		total += p.sizes[i]
	}
	p.bar = newBar(s, "measuring", total)
	return p
}

// of returns the callback for one file.
func (p *fileProgress) of(i int) func(done, frames int64) {
	return func(done, frames int64) {
		p.show(i, int64(math.Floor(float64(p.sizes[i])*float64(done)/float64(frames))))
	}
}

// show is called for a file by one goroutine at a time.
func (p *fileProgress) show(i int, bytes int64) {
	p.add(bytes - p.shown[i])
	p.shown[i] = bytes
}
