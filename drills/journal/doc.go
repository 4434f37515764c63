// Package journal keeps a learner's own history: every locked take with its
// moves, so that any verdict can be had again.
//
// Add returns once the take is on the disk; a verdict is shown after that. One
// program writes at a time; a second that opens the journal gets ErrInUse and
// may read (OpenReadOnly). A journal that is damaged is set aside under a new
// name, never written over; what can still be read of it goes into a new one,
// and Asides says where the old one is.
//
// On a desktop the journal is a SQLite database. It uses a rollback journal
// and synchronous=EXTRA, so a commit that returned survives a power cut as far
// as the disk keeps its promises, and works on network home folders, where
// write-ahead logging does not. In a browser it is the browser's local storage.
package journal

import (
	"os"

	"slowneedle/audio/said"
	"slowneedle/drills/progress"
)

// Errors to tell apart with errors.Is.
var (
	// ErrInUse: another window has the journal; it can be opened read-only.
	ErrInUse = said.Errorf("journal.in_use", "another window has the history open")
	// ErrReadOnly: the journal was opened to read.
	ErrReadOnly = said.Errorf("journal.read_only", "the history is open for reading only")
	// ErrNewer: a later version of the program wrote the journal.
	ErrNewer = said.Errorf("journal.newer", "the history was written by a later version of the program")
	// ErrFull: there is no room to store the take; nothing was written.
	ErrFull = said.Errorf("journal.full", "there is no space left to store it")
	// ErrNotFound: there is no take of that name.
	ErrNotFound = said.Errorf("journal.no_take", "there is no such take in the history")
)

// Aside says that a damaged journal was set aside.
type Aside struct {
	Path  string // where it is now
	Saved int    // takes that could be read from it and are in the new journal
	Why   string // what was found
}

// Imported says what an import did.
type Imported struct {
	Added int // takes that are new
	Known int // takes that were in the journal already and were left alone
}

// Modes of everything the journal makes: a learner's history is their own.
const (
	fileMode   os.FileMode = 0o600
	folderMode os.FileMode = 0o700
)

// row is an entry ready to be stored.
type row struct {
	id     string
	packed []byte
	sum    uint32
	mark   progress.Mark
}

// sealed makes the row of an entry, or says what is wrong with the entry.
func sealed(e Entry) (row, error) {
	body, err := e.seal()
	if err != nil {
		return row{}, said.Errorf("journal.unfit", "the take cannot be saved: %w", err)
	}
	packed, sum := pack(e.ID, body)
	return row{id: e.ID, packed: packed, sum: sum, mark: e.Mark()}, nil
}
