package practice

import (
	"context"
	"errors"
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	"slowneedle/game/beside"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// Reports is how practice tells what happens.
type Reports struct {
	Tell    func(sentence string)                     // shows one sentence
	Note    func(event string, fields map[string]any) // tells a probe
	Changed func()                                    // what is shown must be drawn again
}

// Records are the learner's journal on disk, the book of its marks, and the
// take that is on its way there.
type Records struct {
	*words.Speech
	Reports
	work    beside.Queue
	opening bool // the journal is being opened
	journal *journal.Journal
	asides  int // damaged journals set aside that were told
	Book    *progress.Book
	Saving  *saving       // nil: none
	advised *advised      // nil: it must be worked out
	prefs   *store.Keeper // has the practice under way
}

// advised is an advice that holds until the book or what is asked for changes, and the
// practice that it is a round of; ok is false if there is none.
type advised struct {
	drill    string // asked for, empty for any
	family   source.Family
	length   int // of a practice
	advice   progress.Advice
	practice plan.Practice
	ok       bool
}

// opened is what became of opening the journal.
type opened struct {
	journal *journal.Journal
	book    *progress.Book
	err     error // why takes are not kept
}

// NewRecords are records without a journal, as for a learner who is not known.
func NewRecords(book *progress.Book, w *words.Speech, r Reports) *Records {
	return &Records{Speech: w, Reports: r, work: beside.New(), Book: book, prefs: store.NewKeeper(store.DefaultSettings(), func() {})}
}

// OpenRecords opens the journal while the screen is drawn already.
func OpenRecords(w *words.Speech, r Reports) *Records {
	all := NewRecords(&progress.Book{}, w, r)
	all.opening = true
	all.work.Do(func() func() {
		o := openJournal()
		return func() { all.opened(o) }
	})
	return all
}

func openJournal() opened {
	r := opened{book: &progress.Book{}}
	path := journal.Path()
	var err error
	r.journal, err = journal.Open(path)
	if errors.Is(err, journal.ErrInUse) {
		r.err = err
		r.journal, err = journal.OpenReadOnly(path)
	}
	if err != nil {
		r.err, r.journal = err, nil
		return r
	}
	marks, err := r.journal.Marks()
	if err != nil {
		r.err = err
		return r
	}
	r.book = progress.Read(marks)
	return r
}

// Wait waits for the journal to be open.
func (r *Records) Wait() { r.work.Wait(func() bool { return !r.opening }) }

// opened takes the journal over once it is open.
func (r *Records) opened(o opened) {
	r.opening, r.journal = false, o.journal
	r.setBook(o.book)
	switch {
	case errors.Is(o.err, journal.ErrInUse):
		r.Tell(r.Say("journal.in_use"))
	case o.err != nil:
		r.Tell(r.Say("journal.failed", r.Fault(o.err)))
	}
	r.tellAside()
	if o.err == nil && !o.journal.ReadOnly() {
		r.check()
	}
}

// check looks the whole journal over while the screen is drawn. What else it finds amiss
// comes up again with the next take.
func (r *Records) check() {
	book := r.journal
	r.work.Do(func() func() {
		_ = book.Check(context.Background())
		return r.tellAside
	})
}

// tellAside tells where a damaged journal is that was set aside since it was told last.
func (r *Records) tellAside() {
	if r.journal == nil {
		return
	}
	all := r.journal.Asides()
	if n := len(all); n > r.asides {
		r.Tell(r.Say("journal.aside", all[n-1]))
	}
	r.asides = len(all)
}

// setBook makes another book the learner's.
func (r *Records) setBook(b *progress.Book) {
	r.Book, r.advised = b, nil
	r.Changed()
}

// reread takes the journal's marks in again.
func (r *Records) reread() {
	marks, err := r.journal.Marks()
	if err != nil {
		r.Tell(r.Say("journal.failed", r.Fault(err)))
		return
	}
	r.setBook(progress.Read(marks))
}

// Close closes the journal once the last take is on the disk. It returns
// what went wrong with that take: there is no window left to say it in.
func (r *Records) Close() []string {
	all := r.waitSaved()
	r.Wait()
	if r.journal != nil {
		_ = r.journal.Close()
	}
	return all
}

// Advice is what to practise next, of the drill and the family that the settings ask for:
// what comes next in the practice that is due. Of own recordings there is none.
func (r *Records) Advice() (progress.Advice, bool) {
	a := r.advise()
	return a.advice, a.ok
}

// Due is the practice that is gone on with or would begin.
func (r *Records) Due() plan.Practice { return r.advise().practice }

// Last is the practice that was begun last.
func (r *Records) Last() plan.Practice { return r.prefs.Practice }

// Under reports whether the last practice has rounds ahead.
func (r *Records) Under() bool {
	_, ok := r.prefs.Practice.Next()
	return ok
}

// Summary sums up the last practice.
func (r *Records) Summary() plan.Summary { return r.prefs.Practice.Summary(r.Book, time.Now()) }

// End ends the practice under way early.
func (r *Records) End() {
	r.prefs.Change(func(s *store.Settings) { s.Practice.End() })
	r.advised = nil
}

// begin makes the practice that is due the one under way.
func (r *Records) begin() plan.Practice {
	p := r.Due()
	if !p.Began.Equal(r.prefs.Practice.Began) {
		r.prefs.Change(func(s *store.Settings) { s.Practice, s.PracticeDrill, s.PracticeFamily = p, s.Drill, s.Family })
	}
	return p
}

// advise works out an advice once for every change of the book or of what is asked for.
func (r *Records) advise() *advised {
	drill, family, length := r.prefs.Drill, r.prefs.Family, r.prefs.PracticeLength()
	if a := r.advised; a != nil && a.drill == drill && a.family == family && a.length == length {
		return a
	}
	a := &advised{drill: drill, family: family, length: length}
	r.advised = a
	among, now := choices(drill, family), time.Now()
	a.practice = r.due(among, now)
	if t, ok := a.practice.Next(); ok {
		a.advice, a.ok = r.Book.Next([]progress.Key{{Drill: t.Drill, Family: t.Family}}, now)
	}
	return a
}

// practiceHours is how long a practice that was broken off can be gone on with.
const practiceHours = 12 * time.Hour

// due is the practice under way or, if none can be gone on with, another.
func (r *Records) due(among []progress.Key, now time.Time) plan.Practice {
	p := r.prefs
	age := now.Sub(p.Practice.Began)
	if _, ok := p.Practice.Next(); ok && p.PracticeDrill == p.Drill && p.PracticeFamily == p.Family && age >= 0 && age <= practiceHours {
		return p.Practice
	}
	return plan.New(r.Book.Rank(among, now), p.PracticeLength(), now)
}

// played counts a take of the practice under way.
func (r *Records) played(m progress.Mark, untold bool, estimate *float64) {
	if t, ok := r.prefs.Practice.Next(); ok && t.Drill == m.Drill && t.Family == m.Family {
		r.prefs.Change(func(s *store.Settings) {
			s.Practice.Add(m)
			done := &s.Practice.Done[len(s.Practice.Done)-1]
			done.Untold, done.EstimateDB = untold, estimate
		})
	}
	r.count(m)
}

// count counts a take in the book.
func (r *Records) count(m progress.Mark) {
	r.Book.Add(m)
	r.advised = nil
	r.Changed()
}

// choices are the drills and families to choose among; empty is any, and so is a
// family that the drill does not have. Of own recordings there are none.
func choices(drill string, family source.Family) []progress.Key {
	if family == source.Own {
		return nil
	}
	if d, ok := drills.DrillByID(drill); ok && !slices.Contains(d.Families, family) {
		family = ""
	}
	var all []progress.Key
	for _, d := range drills.Drills() {
		if drill != "" && drill != d.ID {
			continue
		}
		for _, f := range d.Families {
			if family == "" || family == f {
				all = append(all, progress.Key{Drill: d.ID, Family: f})
			}
		}
	}
	return all
}

// Export writes the journal to the user's documents, as JSON lines and, where
// there are files, as CSV, and shows where.
func (r *Records) Export() {
	if r.journal == nil {
		r.Tell(r.Say("journal.none"))
		return
	}
	where, err := store.Export("slowneedle-journal-"+time.Now().Format("2006-01-02"), r.journal.ExportJSON, r.journal.ExportCSV)
	if err != nil {
		r.Tell(r.Say("journal.failed", r.Fault(err)))
		return
	}
	r.Tell(r.Say("progress.exported", where))
}

// ForgetAll removes every take of the journal.
func (r *Records) ForgetAll() {
	if r.journal == nil {
		r.Tell(r.Say("journal.none"))
		return
	}
	if err := r.journal.ForgetAll(); err != nil {
		r.Tell(r.Say("journal.failed", r.Fault(err)))
		return
	}
	r.setBook(&progress.Book{})
	r.Tell(r.Say("progress.forgotten"))
}

// saving is a take on its way to the disk. The window goes on being drawn
// meanwhile; what follows the lock waits, for no verdict is shown before its
// take is kept or refused.
type saving struct {
	entry     journal.Entry
	err       error  // why there is no entry
	apart     bool   // it is not for the journal
	practised bool   // it is a round of the practice under way
	untold    bool   // without a verdict
	series    []byte // the class's rounds with the take in them, if it is one of theirs
	then      func()
	since     time.Time
	slow      bool // the screen shows that it is being saved
	started   bool // not before the journal is open
}

// savingShown is after how long the screen shows that a take is being saved.
const savingShown = 300 * time.Millisecond

// save keeps a take.
func (r *Records) save(k *saving) {
	k.since = time.Now()
	r.Saving = k
	r.update()
}

// start keeps the take while the window goes on being drawn.
func (r *Records) start(k *saving) {
	k.started = true
	switch {
	case k.err != nil || k.apart:
	case k.practised:
		r.played(k.entry.Mark(), k.untold, k.entry.EstimateDB)
	default:
		r.count(k.entry.Mark())
	}
	book := r.journal
	if k.err != nil || k.apart || book != nil && book.ReadOnly() {
		book = nil
	}
	r.work.Do(func() func() {
		series, journal := error(nil), k.err
		if k.series != nil {
			series = store.SaveSeries(k.series)
		}
		if book != nil {
			_, journal = book.Add(k.entry)
		}
		return func() { r.saved(k, series, journal) }
	})
}

// saved goes on once the take is kept, or tells why a class's rounds or the journal
// would not have it.
func (r *Records) saved(k *saving, series, journal error) {
	r.Saving = nil
	if series != nil {
		r.Tell(r.Say("class.not_kept", r.Fault(series)))
	}
	if journal != nil {
		r.Tell(r.Say("journal.not_kept", r.Fault(journal)))
	}
	r.tellAside()
	k.then()
}

// update takes over what is open or kept by now.
func (r *Records) update() {
	r.work.Update()
	switch k := r.Saving; {
	case k == nil:
	case !k.started && !r.opening:
		r.start(k)
	case !k.slow && time.Since(k.since) > savingShown:
		k.slow = true
		r.Changed()
		r.Note("keeping", nil)
	}
}

// waitSaved waits for a take that is being kept while the window closes, and
// returns what there is to say of it.
func (r *Records) waitSaved() (all []string) {
	if r.Saving == nil {
		return nil
	}
	r.Wait()
	r.Tell, r.Saving.then = func(sentence string) { all = append(all, sentence) }, func() {}
	r.update()
	r.work.Wait(func() bool { return r.Saving == nil })
	return all
}
