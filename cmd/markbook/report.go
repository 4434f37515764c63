package main

import (
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"slowneedle/drills/class/handin"
	markbook "slowneedle/drills/class/report"
	"slowneedle/drills/class/roster"
	"slowneedle/drills/series"
)

type reportCmd struct {
	Dir       string `arg:"" help:"Folder of hand-ins; folders in it are looked through as well."`
	Output    string `short:"o" placeholder:"FILE.html" help:"The page to write; the folder's name if not given. Beside it go FILE-takes.csv, FILE-learners.csv and FILE-gradebook.csv."`
	Title     string `placeholder:"TEXT" help:"Title of the page; the folder's name if not given."`
	Language  string `default:"en" enum:"${languages}" placeholder:"L" help:"Language of the page: ${enum} (${default})."`
	Roster    string `placeholder:"FILE.csv" help:"List of the class, a line each of id, name and other spellings of the name: who is absent, and ids for the gradebook."`
	Slips     string `placeholder:"DIR" help:"Folder for one page per learner, in the language in which they played."`
	Grade     string `default:"points" enum:"points,share" placeholder:"WHAT" help:"What the gradebook holds: points, the mean of 0 to 100, or share, how many percent of the rounds are right (${default})."`
	Separator string `default:"," placeholder:"C" help:"Separator of the CSV files: a comma, a semicolon or tab (${default})."`
	BOM       bool   `name:"bom" help:"Begin the CSV files with a byte order mark, which some spreadsheets need to show accents."`
	recordingsFlag
	Returns string `placeholder:"FILE.json" help:"Verdicts on returns from real desks, as markbook judge --json prints them: the page has a table of them."`
	JSON    bool   `name:"json" help:"Print one JSON object that says what was written and counted."`
}

// reportJSON is what a report says of itself.
type reportJSON struct {
	Files    []string `json:"files"`
	HandIns  int      `json:"hand_ins"`
	Counted  int      `json:"counted"`
	Learners int      `json:"learners"`
	Absent   int      `json:"absent"`
	Issues   int      `json:"issues"`
	Seconds  float64  `json:"seconds"`
}

// page is a file of the mark book.
type page struct {
	name  string
	write func(io.Writer) error
}

func (c *reportCmd) Run(s streams) error {
	start := time.Now()
	o, err := c.options()
	if err != nil {
		return err
	}
	bench, err := c.rounds()
	if err != nil {
		return err
	}
	bar := newBar(s, "checking", 1)
	submissions, err := markbook.Load(c.Dir, bench, bar.set)
	bar.Finish()
	if err != nil {
		return err
	}
	book, err := markbook.Build(submissions, bench, o)
	if err != nil {
		return err
	}
	out := cmp.Or(c.Output, folderName(c.Dir)+".html")
	stem := strings.TrimSuffix(out, filepath.Ext(out))
	pages := []page{{out, book.WriteHTML}, {stem + "-takes.csv", book.WriteTakesCSV},
		{stem + "-learners.csv", book.WriteLearnersCSV}, {stem + "-gradebook.csv", book.WriteGradebookCSV}}
	if c.Slips != "" {
		if err := makeFolder(c.Slips); err != nil {
			return err
		}
		pages = append(pages, c.slips(book)...)
	}
	done := reportJSON{HandIns: book.Files, Counted: book.Counted, Learners: len(book.Learners), Absent: len(book.Absent), Issues: len(book.Issues)}
	for _, p := range pages {
		if err := write(p.name, p.write); err != nil {
			return err
		}
		done.Files = append(done.Files, p.name)
	}
	done.Seconds = time.Since(start).Seconds()
	if c.JSON {
		return printJSON(s.out, done)
	}
	fmt.Fprintf(s.out, "%d of %s counted, of %s; the page names %s to look into; %.1f s\n",
		done.Counted, count(done.HandIns, "hand-in"), count(done.Learners, "learner"), count(done.Issues, "thing"), done.Seconds)
	if done.Absent > 0 {
		fmt.Fprintf(s.out, "%d of the roster handed in nothing\n", done.Absent)
	}
	for _, name := range done.Files {
		fmt.Fprintln(s.out, name)
	}
	return nil
}

// folderName is what a folder is called, also of one that is named by its place.
func folderName(dir string) string {
	if whole, err := filepath.Abs(dir); err == nil {
		dir = whole
	}
	return filepath.Base(dir)
}

// options are what the flags say.
func (c *reportCmd) options() (o markbook.Options, err error) {
	if err := isFolder(c.Dir); err != nil {
		return o, err
	}
	o = markbook.Options{Title: cmp.Or(c.Title, folderName(c.Dir)), Now: time.Now(), Words: speech(c.Language)}
	if o.Roster, err = readRoster(c.Roster); err != nil {
		return o, err
	}
	if c.Returns != "" {
		if o.Returns, err = readAs(c.Returns, "", 64<<20, series.ParseJudged); err != nil {
			return o, err
		}
	}
	o.CSV = markbook.CSVOptions{BOM: c.BOM, Share: c.Grade == "share"}
	var known bool
	if o.CSV.Separator, known = map[string]rune{",": ',', ";": ';', "tab": '\t', "\t": '\t'}[c.Separator]; !known {
		return o, usageError{fmt.Errorf("--separator=%s: it may be a comma, a semicolon or tab", c.Separator)}
	}
	return o, nil
}

// readRoster reads the list of a class; no name gives an empty one.
func readRoster(name string) (roster.Roster, error) {
	if name == "" {
		return roster.Roster{}, nil
	}
	return readAs(name, "", roster.MaxFile, roster.Parse)
}

// slips are one page per learner.
func (c *reportCmd) slips(book *markbook.Book) (pages []page) {
	for i, l := range book.Learners {
		words := speech(l.Language(), c.Language)
		pages = append(pages, page{filepath.Join(c.Slips, fmt.Sprintf("%03d-%s.html", i+1, handin.FileStem(l.Who))),
			func(w io.Writer) error { return book.WriteSlip(w, l, words) }})
	}
	return pages
}
