package journal

import (
	"context"
	"syscall/js"

	"slowneedle/audio/said"
)

// Path names the journal for people; in a browser there is one.
func Path() string { return "the browser's local storage" }

// Journal is the journal in the browser's local storage.
type Journal = keyed

// Open opens the journal. Several windows may write at once. The error tells
// that the browser does not allow local storage.
func Open(path string) (*Journal, error) {
	storage := allowed()
	if !storage.Truthy() {
		return nil, said.Errorf("journal.no_storage", "journal: this browser gives this page no storage; allow it, or takes are lost when the page closes")
	}
	return newKeyed(browserCells{storage})
}

// allowed is the browser's storage for this page; it may forbid it altogether, by an
// exception that only a call brings here as a panic.
func allowed() js.Value {
	defer func() { _ = recover() }()
	return js.Global().Get("Reflect").Call("get", js.Global(), "localStorage")
}

// OpenReadOnly is Open: nothing is locked in a browser.
func OpenReadOnly(path string) (*Journal, error) { return Open(path) }

// Close has nothing to do.
func (*Journal) Close() error { return nil }

// ReadOnly is false.
func (*Journal) ReadOnly() bool { return false }

// Check has nothing to do: Open reads every take.
func (*Journal) Check(ctx context.Context) error { return nil }

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
