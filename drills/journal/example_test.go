//go:build !js

package journal_test

import (
	"errors"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
)

// A take is locked, stored, and only then is its verdict shown.
func Example() {
	dir, err := os.MkdirTemp("", "journal")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)

	j, err := journal.Open(filepath.Join(dir, "journal.db"))
	if errors.Is(err, journal.ErrInUse) {
		j, err = journal.OpenReadOnly(filepath.Join(dir, "journal.db"))
	}
	if err != nil {
		log.Fatal(err)
	}
	defer j.Close()
	for _, a := range j.Asides() {
		fmt.Println("The journal was damaged; it is now at", a)
	}

	settings := drills.Settings{}
	exercise, err := drills.NewExercise(drills.SetTake, 1, 0, 3, settings)
	if err != nil {
		log.Fatal(err)
	}
	take := exercise.ShowMe() // what the learner did
	verdict, err := exercise.Judge(take)
	if err != nil {
		log.Fatal(err)
	}
	entry, err := journal.Of(exercise, settings, take, verdict, time.Now())
	if err != nil {
		log.Fatal(err)
	}
	if _, err := j.Add(entry); err != nil {
		fmt.Println("The take could not be stored:", err)
	}
	fmt.Println(verdict.Headline)

	marks, err := j.Marks()
	if err != nil {
		log.Fatal(err)
	}
	book := progress.Read(marks)
	key := progress.Key{Drill: drills.SetTake, Family: exercise.Family}
	fmt.Println("takes:", book.Summary(key, 0).Takes, "level:", book.Ladder(key, time.Now()).Now())
	// Output:
	// Spot on.
	// takes: 1 level: 2
}
