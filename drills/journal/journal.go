//go:build !js

package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"github.com/adrg/xdg"
	sqlite3 "modernc.org/sqlite/lib"

	"slowneedle/audio/said"
	"slowneedle/drills/progress"
)

// Path is where a learner's journal is: slowneedle/journal.db in the user's
// data folder (XDG_DATA_HOME on Linux, Application Support on macOS,
// LocalAppData on Windows).
func Path() string { return filepath.Join(xdg.DataHome, "slowneedle", "journal.db") }

// Journal is an open journal. It may be used by several goroutines at once.
type Journal struct {
	path     string
	readOnly bool

	mu     sync.Mutex
	db     *sql.DB // nil once closed
	lock   *sql.DB // holds the lock as long as it is open
	asides []string
}

// Open opens the journal at a path for writing and makes it, with its folder,
// if there is none. A damaged one is set aside first; see Asides. The error is
// ErrInUse if another window has it, ErrNewer if a later version wrote it, or
// tells what about the path is wrong. A journal of an earlier version is refused
// too. What is refused is left as it is.
func Open(path string) (*Journal, error) {
	if err := os.MkdirAll(filepath.Dir(path), folderMode); err != nil {
		return nil, said.Errorf("journal.folder", "journal: making its folder: %w", err)
	}
	lock, err := takeLock(path + ".lock")
	if err != nil {
		return nil, err
	}
	j := &Journal{path: path, lock: lock}
	if err := j.start(); err != nil {
		if !broken(err) {
			j.Close()
			return nil, explain(said.New("journal.opening", "journal: opening"), path, err)
		}
		if err := j.setAside(); err != nil {
			j.Close()
			return nil, err
		}
	}
	return j, nil
}

// OpenReadOnly opens a journal to read, also while another window writes it.
// Damage is an error here and changes nothing.
func OpenReadOnly(path string) (*Journal, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, said.Errorf("journal.opening_to_read", "journal: opening it to read: %w", err)
	}
	db, err := open(path, "ro")
	if err != nil {
		return nil, explain(said.New("journal.opening", "journal: opening"), path, err)
	}
	if _, err := checkVersion(db); err != nil {
		db.Close()
		return nil, explain(said.New("journal.opening", "journal: opening"), path, err)
	}
	return &Journal{path: path, readOnly: true, db: db}, nil
}

// takeLock holds a database of its own in an exclusive transaction. The system
// releases it however the program ends.
func takeLock(path string) (*sql.DB, error) {
	locking := said.New("journal.locking", "journal: locking")
	// It holds nothing. It is not opened for that: closing it again would release what this
	// process holds of it (POSIX, fcntl).
	if err := os.Truncate(path, 0); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, explain(locking, path, err)
	}
	db, err := open(path, "lock")
	if err != nil {
		return nil, explain(locking, path, err)
	}
	if _, err = db.Exec(`BEGIN EXCLUSIVE`); err == nil {
		return db, nil
	}
	db.Close()
	if primary, _ := code(err); primary == sqlite3.SQLITE_BUSY {
		return nil, fmt.Errorf("%w (%s)", ErrInUse, path)
	}
	return nil, explain(locking, path, err)
}

// checkedAtOpen is the size in bytes up to which Open checks every page. Of a
// larger journal it looks at both ends; Check does the rest.
const checkedAtOpen = 8 << 20

// start opens the database and looks it over.
func (j *Journal) start() (err error) {
	if err := checkHeader(j.path); err != nil {
		return err
	}
	if j.db, err = create(j.path); err != nil {
		return err
	}
	if err := checkHeader(j.path); err != nil {
		return err
	}
	info, err := os.Stat(j.path)
	if err != nil {
		return err
	}
	if info.Size() <= checkedAtOpen {
		return check(j.db)
	}
	return intact(j.db, `ORDER BY n DESC LIMIT 100`)
}

// Close releases the journal. Every take is on the disk already; what is left
// to do is the copy, and an error is about that.
func (j *Journal) Close() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	var err error
	if j.db != nil {
		err = errors.Join(j.copy(), j.db.Close())
		j.db = nil
	}
	if j.lock != nil {
		err = errors.Join(err, j.lock.Close())
		j.lock = nil
	}
	return err
}

// ReadOnly reports whether the journal was opened to read.
func (j *Journal) ReadOnly() bool { return j.readOnly }

// Asides lists where the damaged journals are that were set aside since Open.
func (j *Journal) Asides() []string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return slices.Clone(j.asides)
}

// do runs f. If the database turns out to be damaged, it is set aside and f
// runs again on the new one.
func (j *Journal) do(doing said.Sentence, f func() error) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.db == nil {
		return errors.New("journal: it is closed")
	}
	err := f()
	if broken(err) && !j.readOnly {
		if err := j.setAside(); err != nil {
			return err
		}
		err = f()
	}
	return explain(doing, j.path, err)
}

// addRows stores rows, all or none, and returns how many were new. With sorted,
// all takes are put in order of time.
func (j *Journal) addRows(rows []row, sorted bool) (added int, err error) {
	if j.readOnly {
		return 0, fmt.Errorf("journal: %w", ErrReadOnly)
	}
	err = j.do(said.New("journal.writing", "journal: writing"), func() error {
		return inTx(j.db, func(tx *sql.Tx) error {
			if added, err = insert(tx, rows); err != nil || !sorted || added == 0 {
				return err
			}
			return sortByTime(tx)
		})
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

// Marks returns what statistics need of every take, in the order they were
// added; after an import, in order of time.
func (j *Journal) Marks() (marks []progress.Mark, err error) {
	err = j.do(said.New("journal.reading", "journal: reading"), func() error {
		marks, err = readMarks(j.db)
		return err
	})
	return marks, err
}

// pageLen is how many takes are read at a time, so that one can be added in between.
const pageLen = 500

// rows gives the rows in order, read a page at a time. It ends after the first error.
func (j *Journal) rows(doing said.Sentence) iter.Seq2[row, error] {
	return func(yield func(row, error) bool) {
		for after, more := int64(0), true; more; {
			var page []row
			err := j.do(doing, func() error {
				page = page[:0]
				for r, err := range rowsOf(j.db, `WHERE n > ? ORDER BY n LIMIT ?`, after, pageLen) {
					if err != nil {
						return err
					}
					page = append(page, r)
				}
				return nil
			})
			if err != nil {
				yield(row{}, err)
				return
			}
			more = len(page) == pageLen
			for _, r := range page {
				if after = r.n; !yield(r, nil) {
					return
				}
			}
		}
	}
}

// All gives every take in order: that of adding or, after an import, that of
// time. It ends after the first error. Takes may be added meanwhile.
func (j *Journal) All() iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		for r, err := range j.rows(said.New("journal.reading", "journal: reading")) {
			var e Entry
			if err == nil {
				e, err = unpack(r.id, r.packed)
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	}
}

// ForgetAll removes every take, the copy and what was set aside of damaged
// journals included, and writes over the freed pages. It cannot be undone; asking twice
// is the caller's.
func (j *Journal) ForgetAll() error {
	if j.readOnly {
		return fmt.Errorf("journal: %w", ErrReadOnly)
	}
	return j.do(said.New("journal.forgetting", "journal: forgetting everything in"), func() error {
		if err := inTx(j.db, statements(`DELETE FROM take`)); err != nil {
			return err
		}
		if err := removeBeside(j.path); err != nil {
			return err
		}
		j.asides = nil
		_, err := j.db.Exec(`VACUUM`)
		return err
	})
}
