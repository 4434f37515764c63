//go:build !js

package journal

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"slowneedle/audio/said"
	"slowneedle/drills/progress"
)

// appID and schemaVersion mark the database as a journal of this edition
// (SQLite's application_id, "slow" in ASCII, and user_version).
const (
	appID         = 0x736c6f77
	schemaVersion = 7
)

// createTable makes the one table. Its text stands in the database and is
// compared with this, so that a damaged version number is not taken for that of
// another edition.
const createTable = `CREATE TABLE take (
	n    INTEGER PRIMARY KEY, -- place in order
	id   TEXT NOT NULL UNIQUE,
	at   INTEGER NOT NULL,    -- when it was locked, Unix milliseconds
	mark TEXT NOT NULL,       -- JSON of what statistics need, so that they need not unpack the body
	body BLOB NOT NULL,       -- JSON of the entry, DEFLATE
	sum  INTEGER NOT NULL     -- CRC-32 of all but n
) STRICT`

// prepare makes the table in an empty database, and otherwise checks that it
// is a journal of this edition; the error is errEarlier, ErrNewer or errDamaged if not.
func prepare(db *sql.DB) error {
	empty, err := checkVersion(db)
	if err != nil || !empty {
		return err
	}
	return inTx(db, statements(createTable,
		fmt.Sprintf(`PRAGMA application_id = %d`, appID),
		fmt.Sprintf(`PRAGMA user_version = %d`, schemaVersion)))
}

func checkVersion(db *sql.DB) (empty bool, err error) {
	var tables, id, version int
	var table sql.NullString
	err = db.QueryRow(`SELECT count(*), max(sql) FILTER (WHERE name = 'take') FROM sqlite_master`).Scan(&tables, &table)
	if err != nil {
		return false, err
	}
	if err := db.QueryRow(`PRAGMA application_id`).Scan(&id); err != nil {
		return false, err
	}
	if err := db.QueryRow(`PRAGMA user_version`).Scan(&version); err != nil {
		return false, err
	}
	ours := table.String == createTable
	switch {
	case tables == 0 && id == 0 && version == 0:
		return true, nil
	case ours && id == appID && version == schemaVersion:
		return false, nil
	case !ours && table.Valid && id == appID && version > schemaVersion:
		return false, ErrNewer
	case !ours && table.Valid && id == appID && 0 < version && version < schemaVersion:
		return false, errEarlier
	}
	return false, fmt.Errorf("%w: the header does not fit the content", errDamaged)
}

// errEarlier: an earlier edition of the program wrote the journal.
var errEarlier = said.Errorf("journal.earlier", "the history was written by an earlier version of the program")

func statements(all ...string) func(*sql.Tx) error {
	return func(tx *sql.Tx) error {
		for _, s := range all {
			if _, err := tx.Exec(s); err != nil {
				return err
			}
		}
		return nil
	}
}

// insert stores rows at the end unless their names are there already, and
// returns how many were new.
func insert(tx *sql.Tx, rows []row) (added int, err error) {
	stmt, err := tx.Prepare(`INSERT INTO take (id, at, mark, body, sum) VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`)
	if err != nil {
		return 0, err
	}
	defer stmt.Close()
	for _, r := range rows {
		res, err := stmt.Exec(r.id, r.at, string(r.mark), r.packed, int64(r.sum()))
		if err != nil {
			return 0, err
		}
		n, err := res.RowsAffected()
		if err != nil {
			return 0, err
		}
		added += int(n)
	}
	return added, nil
}

// sortByTime numbers all takes again in order of time; of equals the first
// stays first.
func sortByTime(tx *sql.Tx) error {
	return statements(`
		UPDATE take SET n = -place FROM (
			SELECT n AS old, row_number() OVER (ORDER BY at, n) AS place FROM take
		) WHERE n = old`,
		`UPDATE take SET n = -n`)(tx)
}

// readMarks reads all marks in order.
func readMarks(db *sql.DB) ([]progress.Mark, error) {
	rows, err := db.Query(`SELECT mark FROM take ORDER BY n`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var marks []progress.Mark
	for rows.Next() {
		var text sql.RawBytes
		var m progress.Mark
		if err := rows.Scan(&text); err != nil {
			return nil, fmt.Errorf("%w: %w", errDamaged, err)
		}
		if err := json.Unmarshal(text, &m); err != nil {
			return nil, fmt.Errorf("%w: %w", errDamaged, err)
		}
		marks = append(marks, m)
	}
	return marks, rows.Err()
}

// rowsOf gives the rows that a condition selects. It ends after the first error, which is
// errDamaged if a row is not as it was stored.
func rowsOf(db *sql.DB, where string, args ...any) iter.Seq2[row, error] {
	return func(yield func(row, error) bool) {
		rows, err := db.Query(`SELECT n, id, at, mark, body, sum FROM take `+where, args...)
		if err != nil {
			yield(row{}, err)
			return
		}
		defer rows.Close()
		for rows.Next() {
			var r row
			var sum uint32
			err := rows.Scan(&r.n, &r.id, &r.at, &r.mark, &r.packed, &sum)
			if err != nil {
				err = fmt.Errorf("%w: %w", errDamaged, err)
			} else if r.sum() != sum {
				err = fmt.Errorf("take %q: %w", r.id, errDamaged)
			}
			if !yield(r, err) || err != nil {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(row{}, err)
		}
	}
}

// headerFixed are the bytes of the database header (SQLite file format, 1.3)
// that are alike in every journal: its name, the page size of 4096, rollback
// journal, no reserved bytes, payload fractions; schema format 4; UTF-8.
var headerFixed = map[int]string{
	0:  "SQLite format 3\x00" + "\x10\x00" + "\x01\x01" + "\x00" + "\x40\x20\x20",
	44: "\x00\x00\x00\x04",
	56: "\x00\x00\x00\x01",
	68: "slow",
}

// checkHeader returns errDamaged for a file whose header is not a journal's, and
// for an empty one beside which there is a copy.
func checkHeader(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return errors.New("it is not a file")
	}
	if hot, err := os.Stat(path + "-journal"); err == nil && hot.Size() > 0 {
		return nil // SQLite puts it right first
	}
	if info.Size() == 0 {
		if _, err := os.Stat(copyPath(path)); err == nil {
			return fmt.Errorf("%w: the file is empty", errDamaged)
		}
		return nil // not begun
	}
	head := make([]byte, 100)
	if _, err := f.ReadAt(head, 0); err != nil {
		return fmt.Errorf("%w: the file ends within its header", errDamaged)
	}
	for at, want := range headerFixed {
		if string(head[at:at+len(want)]) != want {
			return fmt.Errorf("%w: its header is not a journal's", errDamaged)
		}
	}
	return nil
}

// create opens the database at a path and makes it if there is none.
func create(path string) (*sql.DB, error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, fileMode)
	if err != nil {
		return nil, err
	}
	file.Close()
	db, err := open(path, "rwc")
	if err != nil {
		return nil, err
	}
	if err := prepare(db); err != nil {
		db.Close()
		return nil, err
	}
	return db, nil
}

// open opens a database file; mode is "rwc", "ro", "lock", which is rwc without
// a rollback journal, or "damaged", which is rwc without any check that would
// keep SQLite from reading on.
func open(path, mode string) (*sql.DB, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p // file:///C:/...
	}
	pragmas := []string{"busy_timeout(5000)", "cell_size_check(1)", "trusted_schema(0)"}
	switch mode {
	case "rwc":
		pragmas = append(pragmas, "secure_delete(1)", "journal_mode(DELETE)", "synchronous(EXTRA)", "fullfsync(1)")
	case "damaged":
		mode, pragmas = "rwc", []string{"trusted_schema(0)"}
	case "lock":
		mode, pragmas = "rwc", []string{"busy_timeout(0)", "journal_mode(OFF)"}
	}
	q := url.Values{"mode": {mode}, "_txlock": {"immediate"}, "_pragma": pragmas}
	u := url.URL{Scheme: "file", Path: p, RawQuery: q.Encode()}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// inTx runs f in a transaction, which is undone if f or the commit fails.
func inTx(db *sql.DB, f func(*sql.Tx) error) error {
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		tx.Rollback() // SQLite may have undone it already
		return err
	}
	if err := tx.Commit(); err != nil {
		tx.Rollback()
		return err
	}
	return nil
}

// code returns SQLite's primary result code and the extended one.
func code(err error) (primary, extended int) {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return 0, 0
	}
	return e.Code() & 0xff, e.Code()
}

// broken reports whether an error means that the stored bytes are damaged.
func broken(err error) bool {
	primary, extended := code(err)
	return errors.Is(err, errDamaged) || primary == sqlite3.SQLITE_CORRUPT || primary == sqlite3.SQLITE_NOTADB ||
		extended == sqlite3.SQLITE_IOERR_SHORT_READ || extended == sqlite3.SQLITE_IOERR_CORRUPTFS
}

// explain puts an error of the database into one sentence about a file.
func explain(doing said.Sentence, path string, err error) error {
	if err == nil {
		return nil
	}
	primary, _ := code(err)
	switch {
	case errors.Is(err, ErrNewer):
		return said.Errorf("journal.update", "%s %s: %w; update it", doing, path, ErrNewer)
	case errors.Is(err, errEarlier):
		return said.Errorf("journal.rename", "%s %s: %w; rename the file, and a new history begins", doing, path, errEarlier)
	case primary == sqlite3.SQLITE_FULL:
		return said.Errorf("journal.disk_full", "%s %s: %w: the disk is full; free some space and try again", doing, path, ErrFull)
	case primary == sqlite3.SQLITE_READONLY || primary == sqlite3.SQLITE_PERM || primary == sqlite3.SQLITE_CANTOPEN:
		return said.Errorf("journal.denied", "%s %s: no permission to write the file or its folder; check the permissions: %w", doing, path, err)
	case primary == sqlite3.SQLITE_IOERR:
		return said.Errorf("journal.disk_error", "%s %s: the disk reports an error; nothing was written: %w", doing, path, err)
	case primary == sqlite3.SQLITE_BUSY || primary == sqlite3.SQLITE_LOCKED:
		return said.Errorf("journal.held", "%s %s: another program holds the file; close it and try again: %w", doing, path, err)
	}
	return said.Errorf("journal.other", "%s %s: %w", doing, path, err)
}
