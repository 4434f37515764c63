package game

import (
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/game/words"
)

// session is what is practised from one start of the trainer to its end.
type session struct {
	records *records
	prefs   *keeper
	own     recordings
	series  *series // of a class, being played or handed in; nil: none
	version string  // of the trainer

	seed       uint64
	index      int // of the next exercise
	played     int // exercises started
	lastDrill  string
	lastFamily source.Family
	classRound int // rounds played to a class
}

// newSession begins a session and opens the journal.
func newSession(seed uint64, version string, prefs *keeper, w *words.Speech, r reports) *session {
	return &session{records: openRecords(w, r), prefs: prefs, own: recordings{given: make(chan given, 4)}, version: version, seed: seed}
}

// start makes what the first screen asks for.
func (p *session) start() (*assignment, error) {
	p.records.take(true)
	drill, family := p.prefs.Drill, p.prefs.Family
	if drill == "" && family != source.Own {
		if a, ok := p.records.advice(drill, family); ok {
			drill, family = a.Drill, a.Family
		}
	}
	return p.nextOf(drill, family)
}

// needed makes one exercise of what is needed most, whatever has been chosen to
// be practised.
func (p *session) needed() (*assignment, error) {
	p.records.take(true)
	if a, ok := p.records.advice("", ""); ok {
		return p.nextOf(a.Drill, a.Family)
	}
	return p.start()
}

// next makes what follows an assignment; nil is the hand-in after the last
// round of a class's.
func (p *session) next(a *assignment) (*assignment, error) {
	switch {
	case a.classroom:
		return p.forClass()
	case a.series != nil:
		return a.series.next()
	}
	drill, family := p.prefs.Drill, p.prefs.Family
	if drill == "" {
		drill, family = p.lastDrill, p.lastFamily
	}
	return p.nextOf(drill, family)
}

// forClass makes a round that is played to a class: the teacher moves the fader,
// the class writes its answer down, and only then the truth is shown.
func (p *session) forClass() (*assignment, error) {
	p.records.take(true)
	a, err := p.assign(p.prefs.Drill, p.prefs.Family)
	if err != nil {
		return nil, err
	}
	p.classRound++
	a.number, a.classroom = p.classRound, true
	return a, nil
}

// nextOf makes the next exercise of a drill; without a family they take turns.
func (p *session) nextOf(drill string, family source.Family) (*assignment, error) {
	a, err := p.assign(drill, family)
	if err != nil {
		return nil, err
	}
	a.again = p.lastDrill == a.Drill.ID && p.played > 0
	p.played++
	a.number = p.played
	p.lastDrill, p.lastFamily = a.Drill.ID, a.Family
	return a, nil
}

func (p *session) assign(drill string, family source.Family) (*assignment, error) {
	index := p.index
	p.index++
	set := drills.Settings{Family: family, Rig: p.prefs.chosenRig()}
	if set.Rig != nil && p.prefs.RigChoice == rigMine {
		set.ToleranceDB = set.Rig.ToleranceDB
	}
	if family == source.Own && p.own.chosen != nil {
		var err error
		if set.Recording, err = p.own.chosen.sound(p.seed + uint64(index)); err != nil {
			return nil, err
		}
		ex, err := drills.NewExercise(drills.Standard, p.seed, index, 0, set)
		return &assignment{Exercise: ex, settings: set}, err
	}
	d, ok := drills.DrillByID(drill)
	if !ok {
		d, _ = drills.DrillByID(drills.Standard)
	}
	if !slices.Contains(d.Families, set.Family) {
		set.Family = drills.Turn(d.Families, p.seed, index)
	}
	level := p.records.book.Ladder(progress.Key{Drill: d.ID, Family: set.Family}).Now()
	ex, err := drills.NewExercise(d.ID, p.seed, index, level, set)
	return &assignment{Exercise: ex, settings: set}, err
}

// record keeps a take and goes on with then once it is kept, or has been
// refused with a sentence. Of a round played to a class nothing is kept.
func (p *session) record(a *assignment, t drills.Take, v drills.Verdict, then func()) {
	if a.classroom {
		then()
		return
	}
	k := &saving{then: then}
	if s := a.series; s != nil {
		k.series = s.add(p.records, t, v)
		k.then = func() {
			if k.series != nil && s.hand.Complete() {
				s.finish(p.records)
				s.keep(p.records)
			}
			then()
		}
	}
	if k.entry, k.err = journal.Of(a.Exercise, a.settings, t, v, time.Now()); k.err == nil {
		k.entry.Version = p.version
		if a.series != nil {
			k.entry.Sheet = a.series.hand.Code
		}
	}
	p.records.save(k)
}

// update takes in what has become of the journal, the take being kept, files
// that were given and the hand-in. It reports whether the class server has just
// taken the hand-in.
func (p *session) update() (handedIn bool) {
	p.takeGiven()
	p.records.take(false)
	p.records.takeSaved()
	return p.series != nil && p.series.update(p.records)
}
