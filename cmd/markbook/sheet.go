package main

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

type sheetCmd struct {
	New  sheetNewCmd  `cmd:"" help:"Make a sheet and its class code."`
	Show sheetShowCmd `cmd:"" help:"Show what a class code or a sheet file contains."`
}

type sheetNewCmd struct {
	Drill      string          `default:"take" enum:"${drills}" placeholder:"NAME" help:"Which drill: ${enum} (${default})."`
	Families   []source.Family `enum:"${families}" placeholder:"F" help:"Families of the sources: ${enum}. All of the drill if not given."`
	Rig        *drills.Rig     `placeholder:"R" help:"How the desk is lined up: digital, tape, or with settings, as in digital:reference=-20,ceiling=-3. Random for each round if not given."`
	Rounds     int             `default:"10" placeholder:"N" help:"How many, 1 to 50 (${default})."`
	Level      int             `default:"1" placeholder:"N" help:"Difficulty step, 1 to 24: how hard the sources are, and the default for the settings below (${default})."`
	Tolerance  float64         `placeholder:"DB" help:"Half width of the window in dB, in tenths. Set by the step if not given."`
	Time       string          `placeholder:"S" help:"Seconds allowed for a round, in steps of 5, or none. Set by the step if not given."`
	Cover      string          `placeholder:"S" help:"When the needle is covered: after so many seconds, always or never. Set by the step if not given."`
	Seed       *uint32         `placeholder:"N" help:"0 to 8388607. Random if not given."`
	Exam       bool            `help:"Make an exam: only the class server that serves it has its rounds."`
	Recordings string          `placeholder:"FOLDER" help:"Make the rounds of passages of the WAV and FLAC recordings in this folder. The sheet is written into it, as sheet.json."`
	JSON       bool            `name:"json" help:"Print one JSON object: code and sheet."`
	Output     string          `short:"o" placeholder:"FILE.json" help:"Write the sheet to a file as well."`
}

// together refuses --output beside --recordings.
func together(recordings, output string) error {
	if recordings != "" && output != "" {
		return errors.New("--recordings and --output cannot be used together: what is made of recordings is written into their folder")
	}
	return nil
}

// Validate refuses what cannot be meant. The rest is the sheet's to check.
func (c *sheetNewCmd) Validate() error { return together(c.Recordings, c.Output) }

func (c *sheetNewCmd) Run(s streams) error {
	n := sheet.New(rand.Uint32N(sheet.MaxSeed + 1))
	if c.Seed != nil {
		n.Seed = *c.Seed
	}
	n.Drill, n.Families, n.Rig, n.Rounds, n.Level, n.ToleranceDB = c.Drill, c.Families, c.Rig, c.Rounds, c.Level, c.Tolerance
	var err error
	if n.Time, err = sheet.ParseTime(c.Time); err != nil {
		return usageError{fmt.Errorf("--time: %w", err)}
	}
	if n.Cover, err = sheet.ParseCover(c.Cover); err != nil {
		return usageError{fmt.Errorf("--cover: %w", err)}
	}
	if c.Recordings != "" {
		if n.Recordings, err = chooseRecordings(c.Recordings); err != nil {
			return err
		}
		n.Content, c.Output = sheet.Folder(c.Recordings), filepath.Join(c.Recordings, sheetFile)
	}
	if n, err = n.Canonical(); err != nil {
		return usageError{err}
	}
	for i := range n.Rounds {
		if i > 0 && !n.Recorded { // of generated sounds all can be made
			break
		}
		if _, err := n.Exercise(i); err != nil {
			return usageError{err}
		}
	}
	n.Exam = c.Exam
	if c.Output != "" {
		if err := writeSheet(c.Output, n); err != nil {
			return err
		}
	}
	if err := printSheet(s.out, n, c.JSON); err != nil || c.Output == "" || c.JSON {
		return err
	}
	_, err = fmt.Fprintf(s.out, "file        %s\n", c.Output)
	return err
}

// writeSheet writes a sheet's file.
func writeSheet(name string, n sheet.Sheet) error {
	text, err := n.File()
	if err != nil {
		return err
	}
	return writeBytes(name, text)
}

// sheetFile is what a sheet is called in the folder of its recordings.
const sheetFile = "sheet.json"

// chooseRecordings describes the recordings in a folder.
func chooseRecordings(dir string) ([]sheet.Recording, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, readFault(dir, err)
	}
	var all []sheet.Recording
	for _, e := range entries {
		if e.IsDir() || !isRecording(e.Name()) {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, readFault(e.Name(), err)
		}
		rec, err := sheet.Choose(e.Name(), data)
		if err != nil {
			return nil, err
		}
		all = append(all, rec)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s: there are no WAV or FLAC recordings in it", dir)
	}
	return all, nil
}

type sheetShowCmd struct {
	Sheet  string `arg:"" placeholder:"CODE" help:"A class code, in quotes or without its spaces, or a sheet file."`
	Rounds bool   `help:"List the rounds with what is right: for the teacher's eyes."`
	JSON   bool   `name:"json" help:"Print one JSON object: code and sheet."`
}

func (c *sheetShowCmd) Run(s streams) error {
	n, err := readSheet(c.Sheet)
	if err != nil {
		return err
	}
	if err := printSheet(s.out, n, c.JSON); err != nil || !c.Rounds || c.JSON {
		return err
	}
	for i := range n.Rounds {
		e, err := n.Exercise(i)
		if err != nil {
			return err
		}
		aims := ""
		for _, channel := range e.Channels {
			if !channel.Fixed && channel.Curve == nil {
				aims += fmt.Sprintf("  %+.1f dB", channel.AimDB)
			}
		}
		for _, stage := range e.Stages {
			if !stage.Fixed {
				aims += fmt.Sprintf("  %s %+.1f dB", stage.Label, stage.Aim)
			}
		}
		fmt.Fprintf(s.out, "%3d  %-13s %-8s%s  %s\n", i+1, e.Family.Name(), e.Rig.Medium, aims, typed(e.Solution.String()))
	}
	return nil
}

// printSheet prints a sheet and its code.
func printSheet(w io.Writer, n sheet.Sheet, asJSON bool) error {
	code, err := n.Code()
	if err != nil {
		return err
	}
	if asJSON {
		return printJSON(w, struct {
			Code  string      `json:"code"`
			Sheet sheet.Sheet `json:"sheet"`
		}{code, n})
	}
	fmt.Fprintf(w, "class code  %s\nsheet       %s\nseed        %d\n", code, typed(speech().SheetWords(n)), n.Seed)
	return nil
}

// readSheet reads a sheet from a file, from a folder that has one, or from a class
// code if there is no file of that name.
func readSheet(what string) (sheet.Sheet, error) {
	if inside := filepath.Join(what, sheetFile); what != "" {
		if _, err := os.Stat(inside); err == nil { // the folder of its recordings
			what = inside
		}
	}
	if _, err := os.Stat(what); what == "" || err != nil && !strings.HasSuffix(what, ".json") {
		return sheet.ParseCode(what)
	}
	n, err := readAs(what, "", sheet.MaxFile, sheet.Parse)
	n.Content = sheet.Folder(filepath.Dir(what))
	return n, err
}
