// The program player plays the sheets of a class and checks what others played:
//
//	player write FOLDER
//	player check FILE...
package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

func main() {
	var cache handin.RoundCache
	if os.Args[1] == "check" {
		for _, file := range os.Args[2:] {
			data, err := os.ReadFile(file)
			must(err)
			r := cache.Check(data)
			for _, f := range r.Findings {
				fmt.Println(filepath.Base(file), f)
			}
			fmt.Println(len(r.Verdicts), "takes")
		}
		return
	}
	for _, d := range drills.Drills() {
		data, err := play(&cache, d)
		must(err)
		must(os.WriteFile(filepath.Join(os.Args[2], d.ID+".json"), data, 0o644))
	}
}

// play makes a hand-in of four rounds of a drill: each take is off by as much as a
// seed says.
func play(cache *handin.RoundCache, d drills.Drill) ([]byte, error) {
	s := sheet.New(2011)
	s.Drill, s.Rounds, s.Level = d.ID, 4, 13
	now := time.Date(2026, 3, 3, 18, 30, 0, 0, time.UTC)
	h, err := handin.Begin("Moonrake", s, "slowneedle test", now)
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(7, 7))
	for i := range s.Rounds {
		e, err := cache.Exercise(h.Sheet, i)
		if err != nil {
			return nil, err
		}
		take := e.ShowMe()
		off := 2 * rng.NormFloat64()
		for k := range take.Moves {
			c := e.Controls[take.Moves[k].Control]
			take.Moves[k].To = min(max(take.Moves[k].To+off, c.Min), c.Max)
		}
		if take.Number != nil {
			*take.Number = max(*take.Number+off, e.Ask.Min)
		}
		v, err := cache.Judge(h.Sheet, i, take)
		if err != nil {
			return nil, err
		}
		now = now.Add(2 * time.Minute)
		if err := h.Add(take, v, now); err != nil {
			return nil, err
		}
	}
	return h.File()
}

func must(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
