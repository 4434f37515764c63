package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"slowneedle/drills/class/handin"
	markbook "slowneedle/drills/class/report"
)

type checkCmd struct {
	JSON  bool     `name:"json" help:"Print one JSON array with an object for each file."`
	Files []string `arg:"" name:"file" help:"Hand-ins, or folders of them."`
}

// checkedJSON is one checked file as command output carries it.
type checkedJSON struct {
	File     string           `json:"file"`
	Verdict  string           `json:"result"` // ok, doubt, changed, damaged or missing
	Who      *string          `json:"who"`
	Code     *string          `json:"code"`
	Takes    int              `json:"takes"`
	Points   *float64         `json:"mean_points"` // of verdicts worked out anew
	Findings []handin.Finding `json:"findings"`
}

func (c *checkCmd) Run(s streams) error {
	items, missing, err := checkItems(c.Files)
	if err != nil {
		return err
	}
	bar := newBar(s, "checking", 1)
	submissions := markbook.Check(items, new(handin.Bench), bar.set)
	bar.finish()
	bad := len(missing) > 0
	all := []checkedJSON{}
	for _, p := range submissions {
		if p.Name == "" { // a sheet
			continue
		}
		bad = bad || !p.Result.Sound()
		all = append(all, checked(p))
	}
	for _, name := range missing {
		all = append(all, checkedJSON{File: name, Verdict: "missing", Findings: []handin.Finding{
			{Kind: "missing", Says: "there is no such file; check the name"}}})
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
		return fmt.Errorf("there are no hand-ins among these; they are files that end in .json")
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
		info, err := os.Stat(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			missing = append(missing, name)
		case err == nil && info.IsDir():
			inside, err := markbook.Items(name)
			if err != nil {
				return nil, nil, err
			}
			items = append(items, inside...)
		default:
			items = append(items, markbook.Item{Name: name, Read: func() ([]byte, error) {
				f, err := os.Open(name)
				if err != nil {
					return nil, cause(err)
				}
				defer f.Close()
				return io.ReadAll(io.LimitReader(f, handin.MaxFile+2))
			}})
		}
	}
	return items, missing, nil
}

func checked(p markbook.Submission) checkedJSON {
	r := p.Result
	j := checkedJSON{File: p.Name, Verdict: "ok", Takes: len(r.Verdicts), Findings: r.Findings}
	if len(r.Findings) > 0 {
		j.Verdict = string(handin.Worst(r.Findings))
	} else {
		j.Findings = []handin.Finding{}
	}
	if r.HandIn != nil {
		j.Who, j.Code = &r.HandIn.Who, &r.HandIn.Code
	}
	if n := len(r.Verdicts); n > 0 {
		sum := 0.0
		for _, v := range r.Verdicts {
			sum += float64(v.Points)
		}
		sum /= float64(n)
		j.Points = &sum
	}
	return j
}

// print writes a file's line and its findings. Text of the file is quoted, so
// that it cannot write over the terminal.
func (j checkedJSON) print(w io.Writer) {
	fmt.Fprintf(w, "%-8s %s", j.Verdict, j.File)
	if j.Who != nil {
		fmt.Fprintf(w, ": %q, %s, %s", *j.Who, *j.Code, count(j.Takes, "take"))
	}
	if j.Points != nil {
		fmt.Fprintf(w, ", %.0f points", *j.Points)
	}
	fmt.Fprintln(w)
	for _, f := range j.Findings {
		fmt.Fprintf(w, "         %s\n", f)
	}
}
