// Package report makes a teacher's mark book of a class: hand-ins checked, put
// together, and written as one page that opens from disk, prints, and needs no
// script, with the figures beside it as CSV.
//
//	papers, err := report.Load("evening/hand-ins", &bench, nil)
//	book, err := report.Build(papers, &bench, report.Options{Title: "Tuesday"})
//	err = book.WriteHTML(w)
//
// Names and everything else that comes out of hand-ins is untrusted text.
package report

import (
	"bytes"
	"crypto/sha256"
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

	"golang.org/x/sync/errgroup"

	"slowneedle/drills/class/handin"
)

// Paper is one file of a class with what its check found.
type Paper struct {
	Name   string // of the file
	Result handin.Result

	sum [32]byte // of the file
}

// Item is one file to be checked.
type Item struct {
	Name string
	Read func() ([]byte, error)
}

// MaxPapers is how many files one report takes.
const MaxPapers = 20000

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
		if len(items) == MaxPapers {
			return fmt.Errorf("there are more than %d files in it; sort them into folders", MaxPapers)
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
// cannot be read; what is wrong with a hand-in stands with its Paper.
func Load(dir string, bench *handin.RoundCache, progress func(done, total int)) ([]Paper, error) {
	items, err := Items(dir)
	if err != nil {
		return nil, err
	}
	papers := Check(items, bench, progress)
	papers = slices.DeleteFunc(papers, func(p Paper) bool { return p.Name == "" })
	if len(papers) == 0 {
		return nil, fmt.Errorf("%s holds no hand-ins; they are files that end in .json", dir)
	}
	return papers, nil
}

// Check checks items, as many at once as there are processors, and returns a
// paper for each in the same order. A sheet's file becomes a Paper without a
// name.
func Check(items []Item, bench *handin.RoundCache, progress func(done, total int)) []Paper {
	papers := make([]Paper, len(items))
	var done int
	var mu sync.Mutex
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, item := range items {
		group.Go(func() error {
			papers[i] = checkOne(item, bench)
			mu.Lock()
			defer mu.Unlock()
			if done++; progress != nil {
				progress(done, len(items))
			}
			return nil
		})
	}
	group.Wait()
	return papers
}

func checkOne(item Item, bench *handin.RoundCache) Paper {
	data, err := item.Read()
	if err != nil {
		var path *fs.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return Paper{Name: item.Name, Result: handin.Result{Findings: []handin.Finding{
			{Kind: handin.Damaged, Says: fmt.Sprintf("it cannot be read: %v", err)}}}}
	}
	if len(data) < 4096 && bytes.Contains(data, []byte(`"slowneedle sheet 1"`)) && !bytes.Contains(data, []byte(`hand-in`)) {
		return Paper{}
	}
	return Paper{Name: item.Name, Result: bench.Check(data), sum: sha256.Sum256(data)}
}
