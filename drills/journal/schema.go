//go:build !js

package journal

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"slowneedle/audio/said"
)

// appID marks the database as a journal ("slow" in ASCII; SQLite's
// application_id).
const appID = 0x736c6f77

// migrations bring a database from the version that is their index to the
// next. A database is always made by all of them in turn, so a new one and an
// old one come out alike.
var migrations = []func(*sql.Tx) error{
	// 1: takes as JSON text.
	statements(`
		CREATE TABLE take (
			n    INTEGER PRIMARY KEY,  -- order of adding
			id   TEXT NOT NULL UNIQUE,
			body TEXT NOT NULL         -- JSON of the entry
		)`, `
		CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID`),
	// 2: takes packed, each with a checksum; marks in strips for statistics.
	func(tx *sql.Tx) error {
		err := statements(`ALTER TABLE take RENAME TO take1`, `
			CREATE TABLE take (
				n    INTEGER PRIMARY KEY,  -- order of adding
				id   TEXT NOT NULL UNIQUE,
				body BLOB NOT NULL,        -- JSON of the entry, DEFLATE
				sum  INTEGER NOT NULL      -- CRC-32 of id and body
			)`, `
			CREATE TABLE lane (
				k      INTEGER PRIMARY KEY,
				drill  TEXT NOT NULL,
				family TEXT NOT NULL,
				rig    TEXT NOT NULL,
				UNIQUE (drill, family, rig)
			)`, `
			CREATE TABLE strip (
				s     INTEGER PRIMARY KEY, -- marks s*128 to s*128+127
				marks BLOB NOT NULL,
				sum   INTEGER NOT NULL     -- CRC-32 of marks
			)`)(tx)
		if err != nil {
			return err
		}
		if err := packOld(tx); err != nil {
			return err
		}
		return statements(`DROP TABLE take1`)(tx)
	},
}

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

// packOld moves the takes of version 1 over.
func packOld(tx *sql.Tx) error {
	rows, err := tx.Query(`SELECT id, body FROM take1 ORDER BY n`)
	if err != nil {
		return err
	}
	defer rows.Close()
	a := adder{tx: tx}
	for rows.Next() {
		var id string
		var body sql.RawBytes
		if err := rows.Scan(&id, &body); err != nil {
			return err
		}
		var e Entry
		if err := json.Unmarshal(body, &e); err != nil {
			return fmt.Errorf("take %q: %w: %w", id, errDamaged, err)
		}
		e.ID = id
		r, err := sealed(e)
		if err != nil {
			return err
		}
		if _, err := a.add(r); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	return a.flush()
}

// migrate brings the database to the newest version in one transaction.
func migrate(db *sql.DB) error {
	from, err := version(db)
	if err != nil {
		return err
	}
	if from == len(migrations) {
		return nil
	}
	return inTx(db, func(tx *sql.Tx) error {
		for _, step := range migrations[from:] {
			if err := step(tx); err != nil {
				return err
			}
		}
		return statements(
			fmt.Sprintf(`PRAGMA application_id = %d`, appID),
			fmt.Sprintf(`PRAGMA user_version = %d`, len(migrations)),
			fmt.Sprintf(`INSERT OR REPLACE INTO meta VALUES ('schema', '%d')`, len(migrations)))(tx)
	})
}

// version returns the version of the schema; 0 is an empty database. It is
// kept twice, so that a damaged byte is not taken for a later version.
func version(db *sql.DB) (int, error) {
	var id, v, tables int
	var meta string
	if err := db.QueryRow(`SELECT count(*) FROM sqlite_master`).Scan(&tables); err != nil {
		return 0, err
	}
	if err := db.QueryRow(`PRAGMA user_version`).Scan(&v); err != nil {
		return 0, err
	}
	if err := db.QueryRow(`PRAGMA application_id`).Scan(&id); err != nil {
		return 0, err
	}
	if tables == 0 && v == 0 && id == 0 {
		return 0, nil
	}
	if err := db.QueryRow(`SELECT value FROM meta WHERE name = 'schema'`).Scan(&meta); err != nil {
		return 0, fmt.Errorf("%w: no schema version: %w", errDamaged, err)
	}
	if id != appID || meta != fmt.Sprint(v) || v < 1 {
		return 0, fmt.Errorf("%w: the header does not fit the content", errDamaged)
	}
	if v > len(migrations) {
		return 0, ErrNewer
	}
	return v, nil
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

// checkHeader returns errDamaged for a file that is not empty and whose header
// is not a journal's. A header that is being changed by a transaction cut
// short is alike in these bytes.
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
	if err != nil || info.Size() == 0 {
		return err
	}
	if !info.Mode().IsRegular() {
		return errors.New("it is not a file")
	}
	head := make([]byte, 100)
	if _, err := f.ReadAt(head, 0); err != nil {
		return fmt.Errorf("%w: the file ends within its header", errDamaged)
	}
	if hot, err := os.Stat(path + "-journal"); err == nil && hot.Size() > 0 {
		return nil // SQLite puts it right first
	}
	for at, want := range headerFixed {
		if string(head[at:at+len(want)]) != want {
			return fmt.Errorf("%w: its header is not a journal's", errDamaged)
		}
	}
	return nil
}

// open opens a database file; mode is "rwc", "ro" or "lock", which is rwc
// without a rollback journal.
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

// say puts an error of the database into one sentence about a file.
func say(doing said.Sentence, path string, err error) error {
	if err == nil {
		return nil
	}
	primary, _ := code(err)
	switch {
	case errors.Is(err, ErrNewer):
		return said.Errorf("journal.update", "%s %s: %w; update it", doing, path, ErrNewer)
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
