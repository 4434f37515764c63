package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"slowneedle/drills/class/demo"
)

type demoCmd struct {
	Dir      string `arg:"" help:"Folder to make; it must not exist, or be empty."`
	Seed     uint64 `default:"1" placeholder:"N" help:"The same seed makes the same class (${default})."`
	Learners int    `default:"24" placeholder:"N" help:"How many, 2 to 2000 (${default})."`
	Rounds   int    `default:"25" placeholder:"N" help:"Rounds of the sheet, 1 to 50 (${default})."`
	Plain    bool   `help:"Only sound hand-ins: no duplicates, copies, changes, cut files or unfinished sheets."`
}

// Validate refuses classes that are none.
func (c *demoCmd) Validate() error {
	if c.Dir == "" {
		return errors.New("the folder's name is empty; name a new folder")
	}
	return inRange(bounds{"learners", float64(c.Learners), 2, 2000}, bounds{"rounds", float64(c.Rounds), 1, 50})
}

func (c *demoCmd) Run(s streams) error {
	if info, err := os.Stat(c.Dir); err == nil && !info.IsDir() {
		return fmt.Errorf("%s: this is a file; name an empty or a new folder", c.Dir)
	}
	entries, err := os.ReadDir(c.Dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return readFault(c.Dir, err)
	}
	if len(entries) > 0 {
		return fmt.Errorf("%s holds files already; name an empty or a new folder", c.Dir)
	}
	sh := demo.Sheet(c.Seed)
	sh.Rounds = c.Rounds
	bar := newBar(s, "playing", 1)
	files, err := demo.Files(sh, c.Seed, c.Learners, c.Plain, bar.set)
	bar.Finish()
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(c.Dir, filepath.FromSlash(f.Name))
		if err := makeFolder(filepath.Dir(path)); err != nil {
			return err
		}
		if err := writeBytes(path, f.Data); err != nil {
			return err
		}
	}
	code, err := sh.Code()
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s: %s, class code %s\n", demo.Title, count(c.Learners, "invented learner"), code)
	fmt.Fprintf(s.out, "%s holds the sheet, hand-ins/, and truth.csv with the bias and spread given to each learner\n", c.Dir)
	fmt.Fprintf(s.out, "look at it with: markbook report --title %q -o class.html %s\n", demo.Title, filepath.Join(c.Dir, "hand-ins"))
	return nil
}
