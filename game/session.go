package game

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
)

// history of the learner: the journal on disk and the book of its marks.
type records struct {
	journal *journal.Journal
	book    *progress.Book
	err     error    // why takes are not kept
	asides  []string // sentences about damaged journals set aside
}

// openRecords opens the journal apart from the screen.
func openRecords() <-chan records {
	ch := make(chan records, 1)
	go func() { ch <- readRecords() }()
	return ch
}

func readRecords() records {
	r := records{book: &progress.Book{}}
	path, err := journal.Path()
	if err != nil {
		r.err = err
		return r
	}
	r.journal, err = journal.Open(path)
	if errors.Is(err, journal.ErrInUse) {
		r.err = err
		r.journal, err = journal.OpenReadOnly(path)
	}
	if err != nil {
		r.err, r.journal = err, nil
		return r
	}
	for _, a := range r.journal.Asides() {
		r.asides = append(r.asides, a.Path)
	}
	marks, err := r.journal.Marks()
	if err != nil {
		r.err = err
		return r
	}
	r.book = progress.Read(marks)
	return r
}

// takeRecords takes the journal over once it is open; wait says whether to
// wait for it.
func (g *Game) takeRecords(wait bool) {
	if g.opening == nil {
		return
	}
	var r records
	if wait {
		r = <-g.opening
	} else {
		select {
		case r = <-g.opening:
		default:
			return
		}
	}
	g.opening, g.rec, g.dirty = nil, r, true
	switch {
	case errors.Is(r.err, journal.ErrInUse):
		g.tell(g.Say("journal.in_use"))
	case r.err != nil:
		g.tell(g.Say("journal.failed", g.Fault(r.err)))
	case len(r.asides) > 0:
		g.tell(g.Say("journal.aside", r.asides[0]))
	}
}

// closeRecords lets go of the journal once the last take is on the disk.
func (g *Game) closeRecords() {
	for _, s := range g.waitKept() { // there is no window left to say it in
		fmt.Fprintln(os.Stderr, "slowneedle:", s)
	}
	g.takeRecords(true)
	if g.rec.journal != nil {
		_ = g.rec.journal.Close()
	}
}

// startRound starts what the first screen asks for.
func startRound(g *Game) {
	g.takeRecords(true)
	drill, family := g.set.Drill, g.set.Family
	if drill == "" && family != source.Own {
		if a, ok := g.advice(); ok {
			drill, family = a.Drill, a.Family
		}
	}
	g.startDrill(drill, family)
}

// startNeeded starts one exercise of what is needed most, whatever has been
// chosen to be practised.
func startNeeded(g *Game) {
	g.takeRecords(true)
	if a, ok := g.adviceAmong("", ""); ok {
		g.startDrill(a.Drill, a.Family)
		return
	}
	startRound(g)
}

// startNext goes on with the drill that is being practised.
func startNext(g *Game) {
	drill, family := g.set.Drill, g.set.Family
	if drill == "" {
		drill, family = g.lastDrill, g.lastFamily
	}
	g.startDrill(drill, family)
}

// startDrill starts the next exercise of a drill; without a family they take
// turns.
func (g *Game) startDrill(drill string, family source.Family) {
	j, err := g.makeJob(drill, family)
	if err != nil {
		g.tell(g.Say("round.failed", g.Fault(err)))
		return
	}
	again := g.lastDrill == j.drill() && g.played > 0
	g.played++
	j.number = g.played
	g.lastDrill, g.lastFamily = j.drill(), j.family()
	g.openJob(j, again)
}

func (g *Game) makeJob(drill string, family source.Family) (*job, error) {
	index := g.index
	g.index++
	set := drills.Settings{Family: family, Rig: g.chosenRig()}
	if set.Rig != nil && g.set.RigChoice == rigMine {
		set.ToleranceDB = set.Rig.ToleranceDB
	}
	if family == source.Own && g.own != nil {
		var err error
		if set.Recording, err = g.own.sound(g.seed + uint64(index)); err != nil {
			return nil, err
		}
		ex, err := drills.NewExercise(drills.Standard, g.seed, index, 0, set)
		return &job{ex: ex, settings: set}, err
	}
	d, ok := drills.DrillByID(drill)
	if !ok {
		d, _ = drills.DrillByID(drills.Standard)
	}
	if !slices.Contains(d.Families, set.Family) {
		set.Family = drills.Turn(d.Families, g.seed, index)
	}
	level := g.rec.book.Ladder(progress.Key{Drill: d.ID, Family: set.Family}).Now()
	ex, err := drills.NewExercise(d.ID, g.seed, index, level, set)
	return &job{ex: ex, settings: set}, err
}

// advice is what to practise next, among the drills and families asked for.
func (g *Game) advice() (progress.Advice, bool) {
	return g.adviceAmong(g.set.Drill, g.set.Family)
}

// adviceAmong is advice with a drill and a family asked for; empty is any.
func (g *Game) adviceAmong(drill string, family source.Family) (progress.Advice, bool) {
	var choices []progress.Key
	for _, d := range drills.Drills() {
		if drill != "" && drill != d.ID {
			continue
		}
		for _, f := range d.Families {
			if family == "" || family == f {
				choices = append(choices, progress.Key{Drill: d.ID, Family: f})
			}
		}
	}
	if g.rec.book == nil {
		return progress.Advice{}, false
	}
	return g.rec.book.Next(choices, time.Now())
}
