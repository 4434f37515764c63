package journal

import (
	"context"
	"fmt"
	"iter"
	"slices"
	"syscall/js"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills/progress"
)

// Path names the journal for people; in a browser there is one.
func Path() (string, error) { return "the browser's local storage", nil }

// Journal is the journal in the browser's local storage.
type Journal struct{ k *keyed }

// Open opens the journal. Several windows may write at once. The error tells
// that the browser does not allow local storage.
func Open(path string) (*Journal, error) {
	storage := js.Global().Get("localStorage")
	if !storage.Truthy() {
		return nil, said.Errorf("journal.no_storage", "journal: this browser gives this page no storage; allow it, or takes are lost when the page closes")
	}
	k, err := newKeyed(browserCells{storage}, time.Now)
	if err != nil {
		return nil, err
	}
	return &Journal{k}, nil
}

// OpenReadOnly is Open: nothing is locked in a browser.
func OpenReadOnly(path string) (*Journal, error) { return Open(path) }

// Close has nothing to do.
func (j *Journal) Close() error { return nil }

// ReadOnly is false.
func (j *Journal) ReadOnly() bool { return false }

// Asides lists the damaged takes that were set aside since Open.
func (j *Journal) Asides() []Aside { return slices.Clone(j.k.asides) }

// Check has nothing to do: Open reads every take.
func (j *Journal) Check(ctx context.Context) error { return nil }

// Add stores a take and returns it with its name filled in; ErrFull if the
// browser has no room left. A take that is there already is left as it is.
func (j *Journal) Add(e Entry) (Entry, error) {
	r, err := newRow(e)
	if err != nil {
		return e, fmt.Errorf("journal: %w", err)
	}
	if _, err := j.k.addRows([]row{r}); err != nil {
		return e, err
	}
	e.ID, e.When = r.id, time.UnixMilli(r.at).UTC()
	return e, nil
}

func (j *Journal) addRows(rows []row, sorted bool) (int, error) { return j.k.addRows(rows) }

// Marks returns what statistics need of every take, in order of time.
func (j *Journal) Marks() ([]progress.Mark, error) { return j.k.marks() }

// All gives every take in the order they were added. It ends after the first
// error.
func (j *Journal) All() iter.Seq2[Entry, error] { return j.k.all() }

// ForgetAll removes every take, what was set aside included.
func (j *Journal) ForgetAll() error {
	j.k.forgetAll()
	return nil
}

// browserCells is the browser's localStorage.
type browserCells struct{ storage js.Value }

func (b browserCells) get(name string) (string, bool) {
	v := b.storage.Call("getItem", name)
	if v.IsNull() {
		return "", false
	}
	return v.String(), true
}

func (b browserCells) set(name, text string) (err error) {
	defer func() {
		if r := recover(); r != nil { // setItem throws QuotaExceededError
			err = said.Errorf("journal.browser_full", "%w: the browser says %v; export your history, then delete it", ErrFull, r)
		}
	}()
	b.storage.Call("setItem", name, text)
	return nil
}

func (b browserCells) remove(name string) { b.storage.Call("removeItem", name) }

func (b browserCells) names() []string {
	names := make([]string, b.storage.Get("length").Int())
	for i := range names {
		names[i] = b.storage.Call("key", i).String()
	}
	return names
}
