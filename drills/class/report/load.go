// Package report makes a teacher's mark book of a class: hand-ins checked, put
// together, and written as one page that opens from disk, prints, and needs no
// script, with the figures beside it as CSV.
//
//	submissions, err := report.Load("evening/hand-ins", &bench, nil)
//	book, err := report.Build(submissions, &bench, report.Options{Title: "Tuesday"})
//	err = book.WriteHTML(w)
//
// Names and everything else that comes out of hand-ins is untrusted text.
package report

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// Submission is one file of a class with what its check found. It keeps no
// moves, so that thousands of them fit into memory.
type Submission struct {
	Name     string    // of the file
	Arrived  time.Time // when the class server got it; zero: that is not known
	Findings []handin.Finding

	// Of a file that can be read.
	ID, Who, Code string
	Sheet         sheet.Sheet
	Ended         time.Time
	Verdicts      []drills.Verdict // of its takes, without their sentences

	sum  [32]byte   // SHA-256 of the file
	keys [][32]byte // of takes of three moves or more, to find copies by
}

// Sound reports whether the file can be read and nothing in it was changed.
func (s *Submission) Sound() bool {
	return s.ID != "" && handin.Worst(s.Findings) != handin.Changed
}

// MeanPoints is the mean of the points of all takes.
func (s *Submission) MeanPoints() float64 {
	sum := 0
	for _, v := range s.Verdicts {
		sum += v.Points
	}
	return float64(sum) / float64(max(len(s.Verdicts), 1))
}

// New is the submission of a file that was checked.
func New(name string, data []byte, r handin.Result) Submission {
	s := Submission{Name: name, Findings: r.Findings, sum: sha256.Sum256(data)}
	h := r.HandIn
	if h == nil {
		return s
	}
	s.ID, s.Who, s.Code, s.Sheet, s.Ended = h.ID, h.Who, h.Code, h.Sheet, h.Ended
	for _, v := range r.Verdicts {
		v.Headline, v.Reason = "", ""
		s.Verdicts = append(s.Verdicts, v)
	}
	for _, t := range h.Takes {
		if len(t.Moves) >= 3 {
			text, _ := json.Marshal([]any{h.Code, t.Round, t.Moves, t.LockAt}) // it was read from JSON
			s.keys = append(s.keys, sha256.Sum256(text))
		}
	}
	return s
}

// MaxSubmissions is how many files one report takes.
const MaxSubmissions = 20000

// Items lists the hand-ins of a folder and the folders in it, by name: regular
// files that end in .json, but for sheets. The error says which folder cannot
// be read, or that it has none.
func Items(dir string) ([]Item, error) {
	var items []Item
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if !d.Type().IsRegular() || !strings.EqualFold(filepath.Ext(path), ".json") {
			return nil
		}
		if len(items) == MaxSubmissions {
			return fmt.Errorf("there are more than %d files in it; sort them into folders", MaxSubmissions)
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			name = path
		}
		items = append(items, Item{name, func() ([]byte, error) { return readFile(path) }})
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading the hand-ins of %s: %w", dir, err)
	}
	return items, nil
}

// readFile reads no more of a file than a hand-in may have, and a little to
// tell that it has more.
func readFile(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, handin.MaxFile+2))
}

// Load checks every hand-in of a folder. progress, if not nil, is called as
// each is done, from one goroutine at a time. The error says what of the folder
// cannot be read; what is wrong with a hand-in stands with its Submission.
func Load(dir string, bench *handin.Bench, progress func(done, total int)) ([]Submission, error) {
	items, err := Items(dir)
	if err != nil {
		return nil, err
	}
	submissions := Check(items, bench, progress)
	submissions = slices.DeleteFunc(submissions, func(p Submission) bool { return p.Name == "" })
	if len(submissions) == 0 {
		return nil, fmt.Errorf("%s holds no hand-ins; they are files that end in .json", dir)
	}
	return submissions, nil
}

// Check checks items, as many at once as there are processors, and returns a
// paper for each in the same order. A sheet's file becomes a Submission without a
// name.
func Check(items []Item, bench *handin.Bench, progress func(done, total int)) []Submission {
	submissions := make([]Submission, len(items))
	var done int
	var mu sync.Mutex
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, item := range items {
		group.Go(func() error {
			submissions[i] = checkOne(item, bench)
			mu.Lock()
			defer mu.Unlock()
			if done++; progress != nil {
				progress(done, len(items))
			}
			return nil
		})
	}
	group.Wait()
	return submissions
}

func checkOne(item Item, bench *handin.Bench) Submission {
	data, err := item.Read()
	if err != nil {
		var path *fs.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return Submission{Name: item.Name, Findings: []handin.Finding{{Kind: handin.Damaged, Says: fmt.Sprintf("it cannot be read: %v", err)}}}
	}
	if len(data) < 4096 && bytes.Contains(data, []byte(`"slowneedle sheet 1"`)) && !bytes.Contains(data, []byte(`hand-in`)) {
		return Submission{}
	}
	return New(item.Name, data, bench.Check(data))
}
