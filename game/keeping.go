package game

import (
	"time"

	"slowneedle/drills"
	"slowneedle/drills/journal"
)

// keeping is a take on its way to the disk. The window goes on being drawn
// meanwhile; what follows the lock waits, for no verdict is shown before its
// take is kept or refused.
type keeping struct {
	job   *job
	entry journal.Entry
	err   error  // why there is no entry
	class []byte // the series with the take in it, if it is one of a class's
	then  func(g *Game)
	since time.Time
	slow  bool      // the screen says so
	done  chan kept // nil until the journal is open
}

// kept is what has become of it.
type kept struct{ class, journal error }

// says is a sentence for each place that would not have it.
func (r kept) says(g *Game) (all []string) {
	if r.class != nil {
		all = append(all, g.Say("class.not_kept", g.Fault(r.class)))
	}
	if r.journal != nil {
		all = append(all, g.Say("journal.not_kept", g.Fault(r.journal)))
	}
	return all
}

// keepingShown is after how long the screen says that a take is being kept.
const keepingShown = 300 * time.Millisecond

// record keeps a take and goes on with then once it is kept, or has been
// refused with a sentence.
func (g *Game) record(j *job, t drills.Take, v drills.Verdict, then func(g *Game)) {
	if j.room {
		then(g)
		return
	}
	k := &keeping{job: j, then: then, since: time.Now()}
	if j.series != nil {
		k.class = j.series.add(g, t, v)
	}
	if k.entry, k.err = journal.Of(j.ex, j.settings, t, v, time.Now()); k.err == nil {
		k.entry.Version = g.opt.Version
		if j.series != nil {
			k.entry.Sheet = j.series.hand.Code
		}
	}
	g.keeping = k
	g.takeKept()
}

// start keeps the take apart from the screen.
func (k *keeping) start(g *Game) {
	k.done = make(chan kept, 1)
	if k.err == nil {
		g.rec.book.Add(k.entry.Mark())
	}
	book := g.rec.journal
	if k.err != nil || book != nil && book.ReadOnly() {
		book = nil
	}
	go func() {
		r := kept{journal: k.err}
		if k.class != nil {
			r.class = storeSeries(k.class)
		}
		if book != nil {
			_, r.journal = book.Add(k.entry)
		}
		k.done <- r
	}()
}

// takeKept goes on once the take is kept.
func (g *Game) takeKept() {
	k := g.keeping
	if k == nil {
		return
	}
	if k.done == nil && g.opening == nil {
		k.start(g)
	}
	select {
	case r := <-k.done: // never, while it is nil
		g.keeping = nil
		for _, s := range r.says(g) {
			g.tell(s)
		}
		if n := k.job.series; k.class != nil && n.hand.Complete() {
			n.finish(g)
			n.keep(g)
		}
		k.then(g)
	default:
		if !k.slow && time.Since(k.since) > keepingShown {
			k.slow, g.dirty = true, true
			g.probe.note("keeping", nil)
		}
	}
}

// waitKept waits for a take that is being kept while the window closes, and
// returns what there is to say of it.
func (g *Game) waitKept() []string {
	k := g.keeping
	if k == nil {
		return nil
	}
	g.takeRecords(true)
	if k.done == nil {
		k.start(g)
	}
	return (<-k.done).says(g)
}
