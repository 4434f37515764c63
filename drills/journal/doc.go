// Package journal keeps a learner's own history: every locked take with its
// moves and its verdict.
//
// Add returns once the take is on the disk; a verdict is shown after that. One
// program writes at a time; a second that opens the journal gets ErrInUse and
// may read (OpenReadOnly). Beside the journal is a copy of it, made when it is
// closed and after Check, and checked before it takes its name. A journal that
// is damaged is set aside under a new name, never written over; a new one begins
// with what the copy holds, so with everything up to the last practice, and
// what can be read of the damaged one besides. Asides tells where that is.
//
// On a desktop the journal is a SQLite database. It uses a rollback journal
// and synchronous=EXTRA, so a commit that returned survives a power cut as far
// as the disk keeps its promises, and works on network home folders, where
// write-ahead logging does not. In a browser it is the browser's local storage.
package journal

import (
	"os"

	"slowneedle/audio/said"
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
)

// Imported counts what an import did.
type Imported struct {
	Added int // takes that are new
	Known int // takes that were in the journal already and were left alone
}

// Modes of everything the journal makes: a learner's history is their own.
const (
	fileMode   os.FileMode = 0o600
	folderMode os.FileMode = 0o700
)
