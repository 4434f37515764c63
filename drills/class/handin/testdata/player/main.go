// The program player plays a sheet of each drill, and checks what it and others played.
// For each drill it writes a hand-in into a folder of its own, prints "played", waits for
// a line on standard input and checks the drill's hand-ins in all folders beside its own.
//
//	player FOLDERS OWN
package main

import (
	"bufio"
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
	folders, own := os.Args[1], os.Args[2]
	goOn := bufio.NewReader(os.Stdin)
	must(os.Mkdir(filepath.Join(folders, own), 0o755))
	for _, d := range drills.Drills() {
		var cache handin.RoundCache
		data, err := play(&cache, d)
		must(err)
		must(os.WriteFile(filepath.Join(folders, own, d.ID+".json"), data, 0o644))
		fmt.Println("played")
		_, err = goOn.ReadString('\n')
		must(err)
		files, err := filepath.Glob(filepath.Join(folders, "*", d.ID+".json"))
		must(err)
		for _, file := range files {
			data, err := os.ReadFile(file)
			must(err)
			r := cache.Check(data)
			for _, f := range r.Findings {
				fmt.Println(file, f)
			}
			fmt.Println(len(r.Verdicts), "takes")
		}
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
