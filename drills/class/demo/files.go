package demo

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"
	"slowneedle/audio/source"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// File is one file of a class.
type File struct {
	Name string // with slashes
	Data []byte
}

// evening is when the class meets.
var evening = time.Date(2026, time.March, 3, 18, 30, 0, 0, time.UTC)

// Program is what hand-ins of the demonstration say they were written by.
const Program = "slowneedle demo"

// Files makes the files of a class: sheet.json, truth.csv with what was put in,
// and hand-ins/. Unless plain, some of the class do what classes do: one leaves
// early, one hands in twice, one copies a neighbour's file under another name,
// one improves a number by hand, and one file is cut short. progress, if not
// nil, is called as each learner is done.
func Files(s sheet.Sheet, seed uint64, learners int, plain bool, progress func(done, total int)) ([]File, error) {
	seat, err := NewSeat(new(handin.RoundCache), s)
	if err != nil {
		return nil, err
	}
	class := Class(seed, learners)
	if !plain {
		class[1].Rounds = max(s.Rounds*2/3, 1)
	}
	text, err := s.File()
	if err != nil {
		return nil, err
	}
	files := []File{{"sheet.json", text}, {"truth.csv", truth(class)}}
	hands, err := playAll(seat, class, seed, progress)
	if err != nil {
		return nil, err
	}
	for _, h := range hands {
		f, err := file(h)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	if plain || learners < 6 {
		return files, nil
	}
	odd, err := oddOnes(seat, class, hands, seed)
	return append(files, odd...), err
}

func file(h *handin.HandIn) (File, error) {
	data, err := h.File()
	return File{"hand-ins/" + h.FileName(), data}, err
}

// playAll plays the class, as many at once as there are processors.
func playAll(seat *Seat, class []Learner, seed uint64, progress func(done, total int)) ([]*handin.HandIn, error) {
	hands := make([]*handin.HandIn, len(class))
	var done int
	var mu sync.Mutex
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, learner := range class {
		group.Go(func() (err error) {
			began := evening.Add(time.Duration(i*7%60) * time.Second)
			hands[i], err = seat.HandIn(learner, seed, 0, Program, began)
			mu.Lock()
			defer mu.Unlock()
			if done++; progress != nil {
				progress(done, len(class))
			}
			return err
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	return hands, nil
}

// oddOnes makes the hand-ins that a teacher should ask about.
func oddOnes(seat *Seat, class []Learner, hands []*handin.HandIn, seed uint64) ([]File, error) {
	second, err := seat.HandIn(class[2], seed, 1, Program, evening.Add(25*time.Minute))
	if err != nil {
		return nil, err
	}
	copied := *hands[3]
	copied.Who = "Borrowed Badge"
	copied.ID = fmt.Sprintf("%032x", seed+0xC0B1ED)
	changed := *hands[4]
	changed.Who = "Silver Tongue"
	changed.ID = fmt.Sprintf("%032x", seed+0xC4A26ED)
	changed.Takes = slices.Clone(changed.Takes)
	for i := range changed.Takes {
		if v := &changed.Takes[i].Verdict; !v.InWindow {
			v.Points, v.InWindow = 100, true
			break
		}
	}
	var files []File
	for _, h := range []*handin.HandIn{second, &copied, &changed} {
		f, err := file(h)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	short, err := file(hands[5])
	if err != nil {
		return nil, err
	}
	short.Name = "hand-ins/handin-cut-short.json"
	short.Data = short.Data[:len(short.Data)*2/3]
	return append(files, short), nil
}

// truth is what was put in, a line for each learner.
func truth(class []Learner) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	head := []string{"who", "spread_db"}
	for _, f := range source.Generated() {
		head = append(head, string(f)+"_bias_db")
	}
	w.Write(head)
	for _, l := range class {
		row := []string{l.Who, strconv.FormatFloat(l.SpreadDB, 'f', 1, 64)}
		for _, f := range source.Generated() {
			row = append(row, strconv.FormatFloat(l.BiasDB[f], 'f', 1, 64))
		}
		w.Write(row)
	}
	w.Flush() // a buffer takes everything
	return b.Bytes()
}
