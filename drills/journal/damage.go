//go:build !js

package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"slowneedle/audio/said"
	"slowneedle/audio/wholefile"
)

// Check reads the whole journal and compares every checksum, some hundred
// takes at a time, so that takes can be added meanwhile; then it brings the
// copy up to date. It is meant to run in the background once a session. A
// damaged journal is set aside; see Asides.
func (j *Journal) Check(ctx context.Context) error {
	checking := said.New("journal.checking", "journal: checking")
	if err := j.do(checking, func() error { return integrity(j.db) }); err != nil {
		return err
	}
	for _, err := range j.rows(checking) {
		if err := errors.Join(err, ctx.Err()); err != nil {
			return err
		}
	}
	return j.do(checking, j.copy)
}

// check reads a database from end to end. The error is errDamaged if anything is not as it
// was stored.
func check(db *sql.DB) error {
	if err := integrity(db); err != nil {
		return err
	}
	return intact(db, `ORDER BY n`)
}

// integrity looks at the database's own structure.
func integrity(db *sql.DB) error {
	var found string
	if err := db.QueryRow(`PRAGMA integrity_check(1)`).Scan(&found); err != nil {
		return err
	}
	if found != "ok" {
		return fmt.Errorf("%w: %s", errDamaged, strings.Join(strings.Fields(found), " "))
	}
	return nil
}

// intact compares the checksums of the rows that a condition selects.
func intact(db *sql.DB, where string) error {
	for _, err := range rowsOf(db, where) {
		if err != nil {
			return err
		}
	}
	return nil
}

// copyPath is where the copy of a journal is. It is made when the journal is
// closed and after a clean check, and takes its name only once it has been
// checked itself; a damaged journal begins again from it.
func copyPath(path string) string { return strings.TrimSuffix(path, ".db") + "-copy.db" }

// copy brings the copy up to date. It has the journal's time of change, by which it is
// known as long as nothing is added, whatever the clock does.
func (j *Journal) copy() error {
	journal, err := os.Stat(j.path)
	if err != nil || j.readOnly {
		return err
	}
	if copied, err := os.Stat(copyPath(j.path)); err == nil && copied.ModTime().Equal(journal.ModTime()) {
		return nil
	}
	if err := integrity(j.db); err != nil {
		return err
	}
	f, err := wholefile.Create(copyPath(j.path), fileMode)
	if err != nil {
		return err
	}
	defer f.Abort()
	if _, err := j.db.Exec(`VACUUM INTO ?`, f.Name()); err != nil {
		return err
	}
	copied, err := open(f.Name(), "ro")
	if err != nil {
		return err
	}
	if err := errors.Join(check(copied), copied.Close(), os.Chtimes(f.Name(), time.Time{}, journal.ModTime())); err != nil {
		return err
	}
	return f.Commit()
}

// setAside puts a new journal in the place of the damaged one: what can be read of
// the copy and of the damaged file. That file keeps its content under a name not used
// before.
func (j *Journal) setAside() error {
	if j.db != nil {
		j.db.Close()
		j.db = nil
	}
	dir, err := os.MkdirTemp(filepath.Dir(j.path), "salvage-*")
	if err != nil {
		return explain(said.New("journal.saving", "journal: bringing takes over to"), j.path, err)
	}
	defer os.RemoveAll(dir)
	rescued := filepath.Join(dir, "rescued.db")
	if err := rescue(j.path, rescued); err != nil {
		return explain(said.New("journal.saving", "journal: bringing takes over to"), j.path, err)
	}
	to, err := moveAside(j.path)
	if err == nil {
		err = os.Rename(rescued, j.path)
	}
	if err != nil {
		return said.Errorf("journal.aside", "journal: setting the damaged %s aside: %w", j.path, err)
	}
	wholefile.SyncFolder(filepath.Dir(j.path))
	if err := j.start(); err != nil {
		return explain(said.New("journal.starting", "journal: starting a new one at"), j.path, err)
	}
	j.asides = append(j.asides, to)
	return nil
}

// rescue makes a journal, alone in its folder, of what can be read of the copy of a
// damaged one and of that itself.
func rescue(damaged, to string) (err error) {
	db, err := create(to)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, path := range []string{copyPath(damaged), damaged} {
		found, err := readable(path, filepath.Join(filepath.Dir(to), filepath.Base(path)))
		if err != nil {
			return err
		}
		err = inTx(db, func(tx *sql.Tx) error {
			_, err := insert(tx, found)
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// readable returns the undamaged takes that SQLite can read from a database, in order,
// none if there is no file. It reads a copy of the file at work: a transaction that was
// cut short is undone there first.
func readable(path, work string) ([]row, error) {
	for _, suffix := range []string{"", "-journal"} {
		if err := copyFile(path+suffix, work+suffix); err != nil && !errors.Is(err, os.ErrNotExist) {
			return nil, err
		}
	}
	info, err := os.Stat(work)
	if err != nil {
		return nil, nil
	}
	db, err := open(work, "damaged")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	r := reader{db: db}
	r.between(1, info.Size()/bytesPerTake)
	return r.found, nil
}

const (
	bytesPerTake = 64    // at least
	faultsMost   = 20000 // after which a reader gives up
)

// reader reads around what is damaged.
type reader struct {
	db     *sql.DB
	found  []row
	faults int
}

// between finds the takes at places lo to hi. Where SQLite reports a fault it
// tries either half of what is left.
func (r *reader) between(lo, hi int64) {
	for r.faults < faultsMost {
		var err error
		for row, fault := range rowsOf(r.db, `WHERE n BETWEEN ? AND ? ORDER BY n`, lo, hi) {
			if err = fault; err == nil {
				r.found = append(r.found, row)
				lo = row.n + 1
			}
		}
		if err == nil {
			return
		}
		r.faults++
		if lo >= hi {
			return
		}
		middle := lo + (hi-lo)/2
		r.between(lo, middle)
		lo = middle + 1
	}
}

// moveAside renames a database, with its rollback journal if it has one, to a
// name not used before.
func moveAside(path string) (to string, err error) {
	now := time.Now().UTC().Format("20060102T150405Z")
	for i := 1; ; i++ {
		to = fmt.Sprintf("%s-broken-%s-%d.db", strings.TrimSuffix(path, ".db"), now, i)
		if _, err := os.Stat(to); err != nil {
			break
		}
	}
	// The database last: until then it can be done again.
	if err := os.Rename(path+"-journal", to+"-journal"); err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", err
	}
	return to, os.Rename(path, to)
}

// removeBeside removes what a journal leaves beside itself: its copy, parts of
// copies, and journals set aside.
func removeBeside(path string) error {
	dir, name := filepath.Split(path)
	list, err := os.ReadDir(filepath.Clean(dir))
	if err != nil {
		return err
	}
	stem, copied := strings.TrimSuffix(name, ".db"), filepath.Base(copyPath(path))
	for _, f := range list {
		n := f.Name()
		if n == copied || strings.HasPrefix(n, "."+copied+".") || strings.HasPrefix(n, stem+"-broken-") {
			if err := os.Remove(filepath.Join(dir, n)); err != nil {
				return err
			}
		}
	}
	return nil
}

func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, fileMode)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync())
}
