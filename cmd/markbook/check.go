package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall"

	"slowneedle/audio/said"
	"slowneedle/drills/class/handin"
	markbook "slowneedle/drills/class/report"
)

type checkCmd struct {
	JSON bool `name:"json" help:"Print one JSON array with an object for each file."`
	recordingsFlag
	Files []string `arg:"" name:"file" help:"Hand-ins, or folders of them."`
}

// checkedJSON is one checked file as command output carries it.
type checkedJSON struct {
	File     string           `json:"file"`
	Verdict  string           `json:"result"` // ok, doubt, changed, damaged or missing
	Who      *string          `json:"who"`
	Code     *string          `json:"code"`
	Takes    int              `json:"takes"`
	Points   *float64         `json:"mean_points"` // of verdicts worked out again
	Findings []handin.Finding `json:"findings"`
}

func (c *checkCmd) Run(s streams) error {
	items, missing, err := checkItems(c.Files)
	if err != nil {
		return err
	}
	bench, err := c.rounds()
	if err != nil {
		return err
	}
	bar := newBar(s, "checking", 1)
	submissions := markbook.Check(items, bench, bar.set)
	bar.Finish()
	bad := len(missing) > 0
	all := []checkedJSON{}
	for _, p := range submissions {
		if p.Name == "" { // a sheet
			continue
		}
		bad = bad || !p.Sound()
		all = append(all, checked(p))
	}
	for _, name := range missing {
		all = append(all, checkedJSON{File: name, Verdict: "missing", Findings: []handin.Finding{
			{Kind: "missing", Says: said.Plain("there is no such file; check the name")}}})
	}
	if c.JSON {
		if err := printJSON(s.out, all); err != nil {
			return err
		}
	} else {
		for _, p := range all {
			p.print(s.out)
		}
	}
	if len(all) == 0 {
		return errors.New("there are no hand-ins among these; name the files that learners handed in, which end in .json, or their folder")
	}
	if bad {
		return errReported
	}
	return nil
}

// checkItems lists the files meant, those of folders included, and those that
// are not there.
func checkItems(names []string) (items []markbook.Item, missing []string, err error) {
	for _, name := range names {
		list, err := markbook.Items(name)
		switch {
		case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
			missing = append(missing, name)
		case err != nil:
			return nil, nil, err
		}
		items = append(items, list...)
	}
	return items, missing, nil
}

func checked(p markbook.Submission) checkedJSON {
	j := checkedJSON{File: p.Name, Verdict: "ok", Takes: len(p.Verdicts), Findings: p.Findings}
	if len(p.Findings) > 0 {
		j.Verdict = string(handin.Worst(p.Findings))
	} else {
		j.Findings = []handin.Finding{}
	}
	if p.ID != "" {
		points := p.Points()
		j.Who, j.Code, j.Points = &p.Who, &p.Code, &points
	}
	return j
}

// print writes a file's line and its findings. Text of the file, its name
// included, is quoted where it could write over the terminal.
func (j checkedJSON) print(w io.Writer) {
	fmt.Fprintf(w, "%-8s %s", j.Verdict, shown(j.File))
	if j.Who != nil {
		fmt.Fprintf(w, ": %q, %s, %s", *j.Who, *j.Code, count(j.Takes, "take"))
	}
	if j.Points != nil {
		fmt.Fprintf(w, ", %.0f points", *j.Points)
	}
	fmt.Fprintln(w)
	for _, f := range j.Findings {
		fmt.Fprintf(w, "         %s\n", shown(f.String()))
	}
}
