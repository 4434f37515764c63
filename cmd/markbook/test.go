package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"

	"slowneedle/drills/class/sheet"
	"slowneedle/drills/testform"
)

type testCmd struct {
	New testNewCmd `cmd:"" help:"Choose a set of test forms and print their class codes: one for before, one for after, one for a week later."`
}

type testNewCmd struct {
	Set        *uint32 `placeholder:"N" help:"Which of the eight sets of forms, 0 to 7. Random if not given."`
	Recordings string  `placeholder:"FOLDER" help:"Make the rounds of passages of the WAV and FLAC recordings in this folder, at most 20. The forms are written into it; the set is any number up to 8388607."`
	JSON       bool    `name:"json" help:"Print one JSON object: the set, and each form with its class code."`
	Output     string  `short:"o" placeholder:"DIR" help:"Write the forms as sheet files to a folder as well."`
}

// formJSON is a form as command output carries it.
type formJSON struct {
	Form testform.Form `json:"form"`
	Code string        `json:"code"`
	File string        `json:"file,omitempty"`
}

// formTimes tell when each form is usually played.
var formTimes = map[testform.Form]string{testform.A: "before", testform.B: "after", testform.C: "a week later"}

// Validate refuses what cannot be meant.
func (c *testNewCmd) Validate() error { return together(c.Recordings, c.Output) }

func (c *testNewCmd) Run(s streams) error {
	sets := uint32(testform.Sets)
	if c.Recordings != "" {
		sets = sheet.MaxSeed + 1
		c.Output = c.Recordings
	}
	set := rand.Uint32N(sets)
	if c.Set != nil {
		set = *c.Set
	}
	if c.Output != "" {
		if err := makeFolder(c.Output); err != nil {
			return err
		}
	}
	all, err := c.forms(set)
	if err != nil {
		return err
	}
	var forms []formJSON
	for _, n := range all {
		f := formJSON{Form: n.Form}
		if f.Code, err = n.Code(); err != nil {
			return err
		}
		if c.Output != "" {
			f.File = filepath.Join(c.Output, fmt.Sprintf("test-%d-%s.json", set, n.Form))
			if err := writeSheet(f.File, n); err != nil {
				return err
			}
		}
		forms = append(forms, f)
	}
	if c.JSON {
		return printJSON(s.out, struct {
			Set   uint32     `json:"set"`
			Forms []formJSON `json:"forms"`
		}{set, forms})
	}
	fmt.Fprintf(s.out, "test forms, set %d: %d rounds each, without feedback\n", set, testform.Rounds)
	for _, f := range forms {
		fmt.Fprintf(s.out, "form %s  %s  %s\n", f.Form, f.Code, formTimes[f.Form])
	}
	for _, f := range forms {
		if f.File != "" {
			fmt.Fprintln(s.out, "file   ", f.File)
		}
	}
	return nil
}

// forms makes the forms of a set.
func (c *testNewCmd) forms(set uint32) (all []sheet.Sheet, err error) {
	if c.Recordings != "" {
		recordings, err := chooseRecordings(c.Recordings)
		if err != nil {
			return nil, err
		}
		if all, err = sheet.NewForms(set, recordings, sheet.Folder(c.Recordings)); err != nil {
			return nil, usageError{err}
		}
		return all, nil
	}
	for _, form := range testform.Forms {
		n, err := sheet.NewForm(set, form)
		if err != nil {
			return nil, usageError{err}
		}
		all = append(all, n)
	}
	return all, nil
}
