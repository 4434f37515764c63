package practice

import (
	"time"

	"slowneedle/drills/journal"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// saving is a take on its way to the disk. The window goes on being drawn
// meanwhile; what follows the lock waits, for no verdict is shown before its
// take is kept or refused.
type saving struct {
	entry  journal.Entry
	err    error  // why there is no entry
	series []byte // the class's rounds with the take in them, if it is one of theirs
	then   func()
	since  time.Time
	slow   bool       // the screen says so
	done   chan saved // nil until the journal is open
}

// saved is what has become of it: why either place would not have it.
type saved struct{ series, journal error }

// sentences returns why, for each place that would not have it.
func (r saved) sentences(w *words.Speech) (all []string) {
	if r.series != nil {
		all = append(all, w.Say("class.not_kept", w.Fault(r.series)))
	}
	if r.journal != nil {
		all = append(all, w.Say("journal.not_kept", w.Fault(r.journal)))
	}
	return all
}

// savingShown is after how long the screen says that a take is being kept.
const savingShown = 300 * time.Millisecond

// save keeps a take.
func (r *Records) save(k *saving) {
	k.since = time.Now()
	r.Saving = k
	r.takeSaved()
}

// start keeps the take while the window goes on being drawn.
func (r *Records) start(k *saving) {
	k.done = make(chan saved, 1)
	if k.err == nil {
		r.played(k.entry.Mark())
	}
	book := r.journal
	if k.err != nil || book != nil && book.ReadOnly() {
		book = nil
	}
	go func() {
		s := saved{journal: k.err}
		if k.series != nil {
			s.series = store.SaveSeries(k.series)
		}
		if book != nil {
			_, s.journal = book.Add(k.entry)
		}
		k.done <- s
	}()
}

// takeSaved goes on once the take is kept, or has been refused with a sentence.
func (r *Records) takeSaved() {
	k := r.Saving
	if k == nil {
		return
	}
	if k.done == nil && r.opening == nil {
		r.start(k)
	}
	select {
	case s := <-k.done: // never, while it is nil
		r.Saving = nil
		for _, sentence := range s.sentences(r.Speech) {
			r.Tell(sentence)
		}
		k.then()
	default:
		if !k.slow && time.Since(k.since) > savingShown {
			k.slow = true
			r.Changed()
			r.Note("keeping", nil)
		}
	}
}

// waitSaved waits for a take that is being kept while the window closes, and
// returns what there is to say of it.
func (r *Records) waitSaved() []string {
	k := r.Saving
	if k == nil {
		return nil
	}
	r.Take(true)
	if k.done == nil {
		r.start(k)
	}
	return (<-k.done).sentences(r.Speech)
}
