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
)

// Check reads the whole journal and compares every checksum, some thousand
// takes at a time, so that takes can be added meanwhile. It is meant to run in
// the background once a session. A damaged journal is set aside; see Asides.
func (j *Journal) Check(ctx context.Context) error {
	asides := -1
	c := checker{}
	for more := true; more; {
		err := j.do(said.New("journal.checking", "journal: checking"), func() (err error) {
			if asides < 0 {
				asides = len(j.asides)
			}
			if len(j.asides) > asides { // what is there now is new
				more = false
				return nil
			}
			more, err = c.step(ctx, j.db)
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// checker reads a database step by step.
type checker struct {
	begun bool
	after int64
	takes int
}

// step reads on, and says whether there is more. The error is errDamaged if
// anything is not as it was stored.
func (c *checker) step(ctx context.Context, db *sql.DB) (more bool, err error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	if !c.begun {
		c.begun = true
		var found string
		if err := db.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&found); err != nil {
			return false, err
		}
		if found != "ok" {
			return false, fmt.Errorf("%w: %s", errDamaged, strings.Join(strings.Fields(found), " "))
		}
		return true, nil
	}
	takes, after, err := checkPage(db, c.after)
	if err != nil {
		return false, err
	}
	c.after = after
	c.takes += takes
	if takes > 0 {
		return true, nil
	}
	marks, err := marksOf(db)
	if err == nil && len(marks) != c.takes {
		err = fmt.Errorf("%w: %d marks for %d takes", errDamaged, len(marks), c.takes)
	}
	return false, err
}

// checkPage compares the checksums of the next takes after a number; it
// returns how many there were and the last number.
func checkPage(db *sql.DB, after int64) (takes int, last int64, err error) {
	rows, err := db.Query(`SELECT n, id, body, sum FROM take WHERE n > ? ORDER BY n LIMIT 2000`, after)
	if err != nil {
		return 0, after, err
	}
	defer rows.Close()
	for rows.Next() {
		var id string
		var packed sql.RawBytes
		var sum int64
		if err := rows.Scan(&last, &id, &packed, &sum); err != nil {
			return 0, after, err
		}
		if int64(sumOf(id, packed)) != sum {
			return 0, after, fmt.Errorf("take %q: %w", id, errDamaged)
		}
		takes++
	}
	return takes, last, rows.Err()
}

// check reads a whole database in one go.
func check(db *sql.DB) error {
	c := checker{}
	for {
		if more, err := c.step(context.Background(), db); err != nil || !more {
			return err
		}
	}
}

// asidePattern matches the journals set aside from a path.
func asidePattern(path string) string {
	return escapeGlob(strings.TrimSuffix(path, ".db")) + "-broken-*.db*"
}

func escapeGlob(s string) string {
	if os.PathSeparator == '\\' {
		return s // no escaping there, and no such characters in its paths
	}
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(s)
}

// setAside renames the database, with what belongs to it, to a name not used
// before, starts a new one and brings over what can be read.
func (j *Journal) setAside(why error) error {
	if j.db != nil {
		j.db.Close()
		j.db = nil
	}
	to, err := reserve(strings.TrimSuffix(j.path, ".db"))
	if err != nil {
		return said.Errorf("journal.aside", "journal: setting the damaged %s aside: %w", j.path, err)
	}
	for _, part := range []string{"-journal", ""} { // the database last: until then it can be done again
		err := os.Rename(j.path+part, to+part)
		if err != nil && !(part != "" && errors.Is(err, os.ErrNotExist)) {
			return said.Errorf("journal.aside", "journal: setting the damaged %s aside: %w", j.path, err)
		}
	}
	syncFolder(filepath.Dir(j.path))
	if err := j.start(); err != nil {
		return say(said.New("journal.starting", "journal: starting a new one at"), j.path, err)
	}
	saved, err := j.salvage(to)
	if err != nil {
		return say(said.New("journal.saving", "journal: bringing takes over to"), j.path, err)
	}
	j.asides = append(j.asides, Aside{Path: to, Saved: saved, Why: why.Error()})
	return nil
}

// reserve makes an empty file of a new name.
func reserve(stem string) (string, error) {
	now := time.Now().UTC().Format("20060102T150405Z")
	for i := 1; i < 10000; i++ {
		name := fmt.Sprintf("%s-broken-%s-%d.db", stem, now, i)
		if _, err := os.Stat(name + "-journal"); err == nil {
			continue
		}
		f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, fileMode)
		if errors.Is(err, os.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		return name, f.Close()
	}
	return "", said.Errorf("journal.many_asides", "there are too many damaged histories beside it; move some elsewhere")
}

// syncFolder makes renames durable where the system can.
func syncFolder(path string) {
	if f, err := os.Open(path); err == nil {
		f.Sync()
		f.Close()
	}
}

// salvage brings every take that is whole from a damaged database, which stays
// as it is, into the new one and says how many.
func (j *Journal) salvage(from string) (saved int, err error) {
	if _, err := os.Stat(from + "-journal"); err == nil {
		dir, err := os.MkdirTemp(filepath.Dir(j.path), "salvage-*")
		if err != nil {
			return 0, err
		}
		defer os.RemoveAll(dir)
		copied := filepath.Join(dir, "copy.db")
		if err := errors.Join(copyFile(from, copied), copyFile(from+"-journal", copied+"-journal")); err != nil {
			return 0, err
		}
		// A transaction was cut short: SQLite undoes it when the file is read.
		// If it cannot, the takes are carved from the file as it is.
		if db, err := open(copied, "rwc"); err == nil {
			db.Exec(`SELECT count(*) FROM sqlite_master`)
			db.Close()
		}
		from = copied
	}
	err = inTx(j.db, func(tx *sql.Tx) error {
		a := adder{tx: tx}
		err := carve(from, func(r row) error {
			added, err := a.add(r)
			if added {
				saved++
			}
			return err
		})
		return errors.Join(err, a.flush())
	})
	return saved, err
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
	return err
}
