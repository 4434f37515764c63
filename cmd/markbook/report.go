package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"slowneedle/audio/wholefile"
	"slowneedle/drills/class/handin"
	markbook "slowneedle/drills/class/report"
)

type reportCmd struct {
	Dir    string `arg:"" help:"Folder of hand-ins; folders in it are looked through as well."`
	Output string `short:"o" placeholder:"FILE.html" help:"The page to write; the folder's name if not given. Beside it go FILE-takes.csv and FILE-learners.csv."`
	Title  string `placeholder:"TEXT" help:"Title of the page; the folder's name if not given."`
	JSON   bool   `name:"json" help:"Print one JSON object that says what was written and counted."`
}

// reportJSON is what a report says of itself.
type reportJSON struct {
	Files    []string `json:"files"`
	HandIns  int      `json:"hand_ins"`
	Counted  int      `json:"counted"`
	Learners int      `json:"learners"`
	Queries  int      `json:"queries"`
	Seconds  float64  `json:"seconds"`
}

func (c *reportCmd) Run(s streams) error {
	start := time.Now()
	if _, err := os.Stat(c.Dir); err != nil {
		return readFault(c.Dir, err)
	}
	var bench handin.Bench
	bar := newBar(s, "checking")
	papers, err := markbook.Load(c.Dir, &bench, bar.set)
	bar.finish()
	if err != nil {
		return err
	}
	folder := filepath.Base(filepath.Clean(c.Dir))
	if whole, err := filepath.Abs(c.Dir); err == nil {
		folder = filepath.Base(whole)
	}
	title := c.Title
	if title == "" {
		title = folder
	}
	out := c.Output
	if out == "" {
		out = folder + ".html"
	}
	book, err := markbook.Build(papers, &bench, markbook.Options{Title: title, Now: time.Now()})
	if err != nil {
		return err
	}
	stem := strings.TrimSuffix(out, filepath.Ext(out))
	done := reportJSON{HandIns: book.Papers, Counted: book.Counted, Learners: len(book.Learners), Queries: len(book.Queries)}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{{out, book.WriteHTML}, {stem + "-takes.csv", book.WriteTakesCSV}, {stem + "-learners.csv", book.WriteLearnersCSV}} {
		if err := wholefile.Write(f.name, 0o644, f.write); err != nil {
			return writeFault(f.name, err)
		}
		done.Files = append(done.Files, f.name)
	}
	done.Seconds = time.Since(start).Seconds()
	if c.JSON {
		return printJSON(s.out, done)
	}
	fmt.Fprintf(s.out, "%d of %s counted, %s, %d to look at; %.1f s\n",
		done.Counted, count(done.HandIns, "hand-in"), count(done.Learners, "learner"), done.Queries, done.Seconds)
	for _, name := range done.Files {
		fmt.Fprintln(s.out, name)
	}
	return nil
}
