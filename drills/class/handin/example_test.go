package handin_test

import (
	"bytes"
	"fmt"
	"time"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// A learner plays a sheet and hands in; a teacher checks the file, and one that
// somebody has improved.
func Example() {
	s := sheet.New(4711)
	s.Rounds = 2
	now := time.Now()
	h, err := handin.Begin("Moonrake", s, handin.Program(), now)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range s.Rounds {
		e, err := s.Exercise(i)
		if err != nil {
			fmt.Println(err)
			return
		}
		take := e.ShowMe() // in place of a learner
		v, err := e.Judge(take)
		if err != nil {
			fmt.Println(err)
			return
		}
		now = now.Add(time.Minute)
		if err := h.Add(take, v, now); err != nil {
			fmt.Println(err)
			return
		}
	}
	file, err := h.File()
	if err != nil {
		fmt.Println(err)
		return
	}

	var bench handin.RoundCache
	r := bench.Check(file)
	fmt.Println(r.Sound(), len(r.Verdicts), "verdicts")

	r = bench.Check(bytes.Replace(file, []byte(`"round": 2`), []byte(`"round": 3`), 1))
	fmt.Println(r.Sound(), r.Findings[0])
	// Output:
	// true 2 verdicts
	// false damaged: takes[1].round: it is 3; here it must be 2, rounds come in order
}
