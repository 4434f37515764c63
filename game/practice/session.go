// Package practice is what is practised: assignments and how they are played, the
// journal that takes are written to, recordings of the learner's own, and the
// sheets of a class. It owns the session and needs no display.
package practice

import (
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/game/beside"
	"slowneedle/game/given"
	"slowneedle/game/store"
)

// Session is what is practised from one start of the trainer to its end.
type Session struct {
	Records *Records
	Prefs   *store.Keeper
	Own     Recordings
	Series  *Series // of a class, being played or handed in; nil: none
	version string  // of the trainer

	seed       uint64
	index      int // of the next exercise
	played     int // exercises started
	lastDrill  string
	classRound int // rounds played to a class
	judging    bool

	files   beside.Queue // that were given to the trainer
	offered *sheet.Sheet // that was given to the trainer last, with the folder of its recordings; nil: none
	folder  string
	fresh   bool // it has not been looked at
}

// NewSession begins a session.
func NewSession(seed uint64, version string, prefs *store.Keeper, records *Records) *Session {
	records.prefs = prefs
	return &Session{Records: records, Prefs: prefs, Own: Recordings{List: given.At(prefs.Recordings...)}, version: version, seed: seed, files: beside.New()}
}

// Start makes what the first screen asks for.
func (p *Session) Start() *Making {
	p.Records.Wait()
	next, ok := p.Records.Advice()
	if !ok {
		return p.nextOf(p.Prefs.Drill, p.Prefs.Family)
	}
	m := p.nextOf(next.Drill, next.Family)
	now := p.Records.begin()
	m.a.number, m.a.of = len(now.Done)+1, len(now.Done)+len(now.Ahead)
	m.a.NoVerdict = !p.Prefs.Tells(len(now.Done))
	return m
}

// AsksEstimate reports whether the learner is asked how far off they think to be: in
// a practice, where one fader has an aim and nothing is played after the lock.
func (p *Session) AsksEstimate(a *Assignment) bool {
	return p.Prefs.Estimate && a.Practised() && a.HasScale() && a.After == nil
}

// Needed makes one exercise of what is needed most, whatever has been chosen to
// be practised.
func (p *Session) Needed() *Making {
	p.Records.Wait()
	if a, ok := p.Records.Book.Next(choices("", ""), time.Now()); ok {
		return p.nextOf(a.Drill, a.Family)
	}
	return p.Start()
}

// Next makes what follows an assignment; nil is the hand-in after the last
// round of a class's.
func (p *Session) Next(a *Assignment) *Making {
	switch {
	case a.Classroom:
		return p.ForClass()
	case a.Series != nil:
		return a.Series.Next()
	case a.Form != "":
		return p.Form()
	}
	return p.Start()
}

// Again makes another round in place of one that was only shown, which does not count.
func (p *Session) Again(a *Assignment) *Making {
	if a.Classroom {
		p.classRound--
	} else {
		p.played--
	}
	return p.Next(a)
}

// ForClass makes a round that is played to a class: the teacher moves the fader,
// the class writes its answer down, and only then the truth is shown.
func (p *Session) ForClass() *Making {
	p.Records.Wait()
	m, _ := p.assign(p.Prefs.Drill, p.Prefs.Family)
	p.classRound++
	m.a.number, m.a.Classroom = p.classRound, true
	return m
}

// nextOf makes the next exercise of a drill; without a family they take turns.
func (p *Session) nextOf(drill string, family source.Family) *Making {
	m, id := p.assign(drill, family)
	m.a.Again = p.lastDrill == id && p.played > 0
	p.played++
	m.a.number = p.played
	p.lastDrill = id
	return m
}

// assign begins an exercise and returns of which drill.
func (p *Session) assign(drill string, family source.Family) (m *Making, id string) {
	index, seed := p.index, p.seed
	p.index++
	set := drills.Settings{Family: family, Rig: p.Prefs.ChosenRig()}
	if set.Rig != nil && p.Prefs.RigChoice == store.RigMine {
		set.ToleranceDB = set.Rig.ToleranceDB
	}
	d, ok := drills.DrillByID(drill)
	if !ok || family == source.Own && !d.OnRecordings() {
		d, _ = drills.DrillByID(drills.Standard)
	}
	a := &Assignment{Settings: set}
	if family == source.Own && len(p.Own.List) > 0 { // off the ladder
		own := Recordings{List: slices.Clone(p.Own.List)}
		return begin(a, func(pause func()) (*drills.Exercise, error) {
			set.Pause, set.Passages = pause, own.passages(pause)
			return drills.NewExercise(d.ID, seed, index, 0, set)
		}), d.ID
	}
	if !slices.Contains(d.Families, set.Family) {
		set.Family = drills.Turn(d.Families, seed, index)
	}
	a.Settings = set
	level := p.Records.Book.Ladder(progress.Key{Drill: d.ID, Family: set.Family}, time.Now()).Now()
	return begin(a, func(pause func()) (*drills.Exercise, error) {
		set.Pause = pause
		return drills.NewExercise(d.ID, seed, index, level, set)
	}), d.ID
}

// Remark tells in a sentence what the newest takes of an assignment's drill and family
// have in common, the last included; empty if there is nothing, and for rounds of a class.
func (p *Session) Remark(a *Assignment) string {
	if a.Classroom || a.NoVerdict || a.Series != nil {
		return ""
	}
	r, ok := p.Records.Book.Remark(progress.Key{Drill: a.Drill.ID, Family: a.Family})
	if !ok {
		return ""
	}
	return p.Records.Remark(r)
}

// Left keeps how much of a round that counts was heard, in seconds, when it was left
// before it was locked. Something is always left: 0 s would be no limit.
func (p *Session) Left(a *Assignment, seconds float64) {
	if id := a.countsAs(); id != "" && a.Seconds > 0 {
		p.Prefs.Change(func(s *store.Settings) { s.LeftRound, s.TimeLeft = id, max(0.01, a.Seconds-seconds) })
	}
}

// Resume leaves a round that counts no more time than was left when it was left: nobody
// can practise it, and nobody who left by mistake loses it.
func (p *Session) Resume(a *Assignment) {
	if id := a.countsAs(); id != "" && id == p.Prefs.LeftRound {
		a.Seconds = min(a.Seconds, p.Prefs.TimeLeft)
	}
}

// Judge judges a take and goes on with then. On tape that takes longer than a frame.
func (p *Session) Judge(a *Assignment, t drills.Take, then func(v drills.Verdict, err error)) {
	p.judging = true
	p.Records.work.Do(func() func() {
		v, err := a.Judge(t)
		return func() {
			p.judging = false
			then(v, err)
		}
	})
}

// Busy reports whether a take is being judged or kept; what the hands do meanwhile does not
// count.
func (p *Session) Busy() bool { return p.judging || p.Records.Saving != nil }

// Record keeps a take, with what the learner thought its error to be in dB if they were
// asked, and goes on with then once it is kept, or has been refused with a sentence. Of
// a round played to a class nothing is kept.
func (p *Session) Record(a *Assignment, t drills.Take, v drills.Verdict, estimate *float64, then func()) {
	if a.Classroom {
		then()
		return
	}
	k := &saving{then: then, practised: a.Practised(), untold: a.NoVerdict}
	if s := a.Series; s != nil {
		k.series = s.add(p.Records, a, t, v)
		k.then = func() {
			if k.series != nil && s.Over() {
				s.finish(p.Records)
				s.Keep(p.Records)
			}
			then()
		}
	}
	if a.drawn != nil { // whose verdict nobody has seen
		k.apart = true
		p.Records.save(k)
		return
	}
	if a.Came != nil {
		k.entry, k.err = a.entry(time.Now())
	} else {
		k.entry, k.err = journal.Of(a.Exercise, a.Settings, t, v, time.Now())
	}
	if a.Heard != nil {
		k.entry.Drill = progress.RealDesk
	}
	if k.err == nil {
		k.entry.Version, k.entry.Sheet, k.entry.EstimateDB = p.version, a.Form, estimate
		if a.Series != nil {
			k.entry.Sheet = a.Series.Hand.Code
		}
	}
	p.Records.save(k)
}

// Update handles results of background work: the journal being opened, the take
// being judged and saved, files that were given, and the hand-in. It reports whether the
// class server has just taken the hand-in.
func (p *Session) Update() (handedIn bool) {
	if p.Records.Saving == nil { // the journal read again would not have its take yet
		p.files.Update()
	}
	p.Records.update()
	return p.Series != nil && p.Series.update(p.Records)
}
