// Package report makes a teacher's mark book of a class: hand-ins checked, put
// together, and written as one page that opens from disk, prints, and needs no
// script, with the figures beside it as CSV.
//
//	submissions, err := report.Load("evening/hand-ins", &bench, nil)
//	book, err := report.Build(submissions, &bench, report.Options{Title: "Tuesday", Words: words})
//	err = book.WriteHTML(w)
//
// Names and everything else that comes out of hand-ins is untrusted text.
package report

import (
	"bytes"
	"cmp"
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
	"syscall"
	"time"

	"golang.org/x/sync/errgroup"

	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/strict"
)

// Submission is one file of a class with what its check found. It keeps no
// moves, so that thousands of them fit into memory.
type Submission struct {
	Name     string // of the file
	Findings []handin.Finding
	Arrival

	// Of a file that can be read.
	handin.Head
	Verdicts []drills.Verdict // of its takes, without their sentences
	Index    []int            // of each take's round in the sheet, from 0; nil: in order

	sum  [32]byte   // SHA-256 of the file
	keys [][32]byte // of takes of three moves or more, to find copies by
}

// Arrival is how a hand-in came to the class server. It is zero where that is
// not known.
type Arrival struct {
	Arrived time.Time `json:"arrived"`
	Opened  time.Time `json:"sheet_opened"` // when its sheet was first served
	Late    bool      `json:"late"`         // after its sheet was closed
	As      string    `json:"as,omitempty"` // name that it counts under, where the teacher merged two spellings

	Sitting *handin.Sitting `json:"exam,omitempty"`
}

// name is the one that a submission counts under.
func (s *Submission) name() string { return cmp.Or(s.As, s.Who) }

// at is the time by which a submission is put in order.
func (s *Submission) at() time.Time {
	if s.Arrived.IsZero() {
		return s.Ended
	}
	return s.Arrived
}

// RoundOf is which of the sheet's rounds a take is of, from 0.
func (s *Submission) RoundOf(take int) int {
	if s.Index == nil {
		return take
	}
	return s.Index[take]
}

// Sound reports whether the file can be read and checked, and nothing in it was changed.
func (s *Submission) Sound() bool {
	return s.ID != "" && cmp.Or(handin.Worst(s.Findings), handin.Doubt) == handin.Doubt
}

// Sum is the SHA-256 of the file.
func (s *Submission) Sum() [32]byte { return s.sum }

// Points is the mean of the points of all takes.
func (s *Submission) Points() float64 {
	sum := 0
	for _, v := range s.Verdicts {
		sum += v.Points
	}
	return float64(sum) / float64(max(len(s.Verdicts), 1))
}

// New is the submission of a file that was checked with those rounds.
func New(name string, data []byte, r handin.Result, a Arrival, rounds *handin.RoundCache) Submission {
	s := Submission{Name: name, Findings: r.Findings, Arrival: a, sum: sha256.Sum256(data)}
	h := r.HandIn
	if h == nil {
		return s
	}
	if !a.Arrived.IsZero() {
		s.Findings = append(s.Findings, h.Times(a.Arrived, a.Opened)...)
	}
	if h.Sheet.Exam {
		s.Findings = append(s.Findings, h.Exam(a.Sitting, rounds)...)
	}
	s.Head = h.Head
	for _, v := range r.Verdicts {
		v.Headline, v.Reason = "", ""
		s.Verdicts = append(s.Verdicts, v)
	}
	for _, t := range h.Takes {
		if h.Sheet.Exam {
			s.Index = append(s.Index, t.Index())
		}
		if len(t.Moves) >= 3 {
			text, _ := json.Marshal([]any{h.Code, t.Round, t.Moves, t.LockAt}) // it was read from JSON
			s.keys = append(s.keys, sha256.Sum256(text))
		}
	}
	return s
}

// Item is one file to be checked.
type Item struct {
	Name string
	Read func() ([]byte, error)
	Arrival
}

// MaxSubmissions is how many files one report takes.
const MaxSubmissions = 20000

// Items is a file, or lists the hand-ins of a folder and the folders in it, by name:
// regular files that end in .json, but for sheets. Where arrivals.json stands beside
// them, as in a class server's archive, they have their arrival. The error says
// what cannot be read.
func Items(name string) ([]Item, error) {
	switch info, err := os.Stat(name); {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return nil, err
	case err != nil || !info.IsDir(): // what cannot be looked at is told of when it is read
		return []Item{{Name: name, Read: func() ([]byte, error) { return readFile(name) }}}, nil
	}
	var items []Item
	arrivals := make(map[string]map[string]Arrival) // by folder and name
	err := fs.WalkDir(os.DirFS(name), ".", func(inside string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		inside = filepath.FromSlash(inside)
		if !d.Type().IsRegular() || !strings.EqualFold(filepath.Ext(inside), ".json") || d.Name() == arrivalsFile {
			return nil
		}
		if len(items) == MaxSubmissions {
			return fmt.Errorf("there are more than %d files in it; sort them into folders", MaxSubmissions)
		}
		folder := filepath.Join(name, filepath.Dir(inside))
		if _, ok := arrivals[folder]; !ok {
			if arrivals[folder], err = readArrivals(filepath.Join(folder, arrivalsFile)); err != nil {
				return err
			}
		}
		items = append(items, Item{inside, func() ([]byte, error) { return readFile(filepath.Join(name, inside)) }, arrivals[folder][d.Name()]})
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading the hand-ins of %s: %w", name, err)
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

// arrivalsFile stands beside the hand-ins of a class server's archive.
const arrivalsFile = "arrivals.json"

// Arrived is how the hand-in of a file came to the class server.
type Arrived struct {
	File string `json:"file"`
	Arrival
}

type arrivals struct {
	Files []Arrived `json:"files"`
}

// Arrivals puts how hand-ins came to the class server into a file of its own.
func Arrivals(list []Arrived) (name string, text []byte, err error) {
	text, err = json.MarshalIndent(arrivals{append([]Arrived{}, list...)}, "", " ")
	return arrivalsFile, append(text, '\n'), err
}

func readArrivals(path string) (map[string]Arrival, error) {
	data, err := readFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var all arrivals
	if err := strict.Decode(data, &all); err != nil {
		return nil, fmt.Errorf("%s: %w; export it again", path, err)
	}
	list := make(map[string]Arrival)
	for _, one := range all.Files {
		list[one.File] = one.Arrival
	}
	return list, nil
}

// Load checks every hand-in of a folder. progress, if not nil, is called as
// each is done, from one goroutine at a time. The error says what of the folder
// cannot be read; what is wrong with a hand-in stands with its Submission.
func Load(dir string, bench *handin.RoundCache, progress func(done, total int)) ([]Submission, error) {
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
// submission for each in the same order. A sheet's file becomes one without a
// name.
func Check(items []Item, bench *handin.RoundCache, progress func(done, total int)) []Submission {
	submissions := make([]Submission, len(items))
	var done int
	var mu sync.Mutex
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, item := range items {
		group.Go(func() error {
			submissions[i] = item.check(bench)
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

func (item Item) check(bench *handin.RoundCache) Submission {
	data, err := item.Read()
	if err != nil {
		var path *fs.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return Submission{Name: item.Name, Findings: []handin.Finding{handin.Unreadable(fmt.Errorf("it cannot be read: %w", err))}}
	}
	if len(data) < 4096 && bytes.Contains(data, []byte(`"`+sheet.Format+`"`)) && !bytes.Contains(data, []byte(`hand-in`)) {
		return Submission{}
	}
	return New(item.Name, data, bench.Check(data), item.Arrival, bench)
}
