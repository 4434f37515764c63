//go:build !js

package server

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// store keeps hand-ins in one SQLite database, class.db in a folder of its own.
//
// It uses a rollback journal with synchronous=EXTRA: what add has returned from
// survives a killed process and, as far as the disk keeps its promises, a power
// cut. One server has a store at a time.
type store struct {
	db   *sql.DB
	max  int
	jobs chan job
	done chan struct{}

	mu    sync.Mutex
	ended bool
}

// row is one stored hand-in.
type row struct {
	id, who, code string
	body          []byte
	at            time.Time
}

type job struct {
	row    row
	answer chan answer
}

type answer struct {
	known bool
	err   error
}

// Errors of a store.
var (
	errClash  = errors.New("another hand-in has this identity")
	errFull   = errors.New("the class's store is full")
	errClosed = errors.New("the server is closing")
	errInUse  = errors.New("another server has this folder open")
	errNewer  = errors.New("it was written by a later version of the program")
)

const schema = `
	CREATE TABLE IF NOT EXISTS handin (
		n    INTEGER PRIMARY KEY,  -- order of arrival
		id   TEXT NOT NULL UNIQUE,
		who  TEXT NOT NULL,
		code TEXT NOT NULL,
		at   INTEGER NOT NULL,     -- Unix milliseconds
		sum  BLOB NOT NULL,        -- SHA-256 of body
		body BLOB NOT NULL         -- the file as it came
	);
	CREATE TABLE IF NOT EXISTS meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
	PRAGMA application_id = 1936485475;
	PRAGMA user_version = 1;`

// openStore opens or makes the store of a folder. At most so many hand-ins are
// kept.
func openStore(dir string, most int) (*store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("the folder for hand-ins: %w", err)
	}
	path, err := filepath.Abs(filepath.Join(dir, "class.db"))
	if err != nil {
		return nil, fmt.Errorf("the folder for hand-ins: %w", err)
	}
	name := filepath.ToSlash(path)
	if !strings.HasPrefix(name, "/") {
		name = "/" + name
	}
	dsn := (&url.URL{Scheme: "file", Path: name, RawQuery: url.Values{"_pragma": {
		"busy_timeout(2000)", "locking_mode(EXCLUSIVE)", "journal_mode(DELETE)", "synchronous(EXTRA)"}}.Encode()}).String()
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fmt.Errorf("opening %s: %w", path, err)
	}
	db.SetMaxOpenConns(1)
	if err := prepare(db, path); err != nil {
		db.Close()
		return nil, fmt.Errorf("opening %s: %w", path, err)
	}
	s := &store{db: db, max: most, jobs: make(chan job, 256), done: make(chan struct{})}
	go s.write()
	return s, nil
}

// prepare takes the database for this server alone and makes its tables.
func prepare(db *sql.DB, path string) error {
	var version int
	err := db.QueryRow("PRAGMA user_version").Scan(&version)
	if err == nil && version > 1 {
		return errNewer
	}
	if err == nil {
		_, err = db.Exec("BEGIN EXCLUSIVE; " + schema + " COMMIT;")
	}
	var code *sqlite.Error
	if errors.As(err, &code) && code.Code()&0xff == sqlite3.SQLITE_BUSY {
		return errInUse
	}
	if err != nil {
		return err
	}
	return os.Chmod(path, 0o600)
}

// add stores a hand-in and returns once it is on the disk. known: the same file
// was there already.
func (s *store) add(ctx context.Context, r row) (known bool, err error) {
	j := job{r, make(chan answer, 1)}
	s.mu.Lock()
	if s.ended {
		s.mu.Unlock()
		return false, errClosed
	}
	select {
	case s.jobs <- j:
		s.mu.Unlock()
	default:
		s.mu.Unlock()
		return false, errors.New("too many hand-ins at once")
	}
	select {
	case a := <-j.answer:
		return a.known, a.err
	case <-ctx.Done():
		return false, ctx.Err() // it may yet be stored; sending again finds out
	}
}

// write puts what waits into the database, as much as there is at once in one
// transaction, and answers after its commit.
func (s *store) write() {
	defer close(s.done)
	const most = 128
	for first := range s.jobs {
		batch := []job{first}
	more:
		for len(batch) < most {
			select {
			case j, ok := <-s.jobs:
				if !ok {
					break more
				}
				batch = append(batch, j)
			default:
				break more
			}
		}
		answers, err := s.commit(batch)
		for i, j := range batch {
			if err != nil {
				j.answer <- answer{err: fmt.Errorf("storing the hand-in: %w", err)}
				continue
			}
			j.answer <- answers[i]
		}
	}
}

func (s *store) commit(batch []job) ([]answer, error) {
	tx, err := s.db.Begin()
	if err != nil {
		return nil, err
	}
	defer tx.Rollback()
	var count int
	if err := tx.QueryRow(`SELECT count(*) FROM handin`).Scan(&count); err != nil {
		return nil, err
	}
	answers := make([]answer, len(batch))
	for i, j := range batch {
		sum := sha256.Sum256(j.row.body)
		var have []byte
		err := tx.QueryRow(`SELECT sum FROM handin WHERE id = ?`, j.row.id).Scan(&have)
		switch {
		case err == nil && bytes.Equal(have, sum[:]):
			answers[i].known = true
			continue
		case err == nil:
			answers[i].err = errClash
			continue
		case !errors.Is(err, sql.ErrNoRows):
			return nil, err
		case count >= s.max:
			answers[i].err = errFull
			continue
		}
		if _, err := tx.Exec(`INSERT INTO handin (id, who, code, at, sum, body) VALUES (?, ?, ?, ?, ?, ?)`,
			j.row.id, j.row.who, j.row.code, j.row.at.UnixMilli(), sum[:], j.row.body); err != nil {
			return nil, err
		}
		count++
	}
	return answers, tx.Commit()
}

// all returns every hand-in in order of arrival, as its bytes are now: a check
// finds those that are not as they came, and the others are none the worse.
func (s *store) all() ([]row, error) {
	rows, err := s.db.Query(`SELECT id, who, code, at, body FROM handin ORDER BY n`)
	if err != nil {
		return nil, fmt.Errorf("reading the hand-ins: %w", err)
	}
	defer rows.Close()
	var list []row
	for rows.Next() {
		var r row
		var ms int64
		if err := rows.Scan(&r.id, &r.who, &r.code, &ms, &r.body); err != nil {
			return nil, fmt.Errorf("reading the hand-ins: %w", err)
		}
		r.at = time.UnixMilli(ms).UTC()
		list = append(list, r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("reading the hand-ins: %w", err)
	}
	return list, nil
}

// meta returns a remembered value, or "" if there is none.
func (s *store) meta(name string) (string, error) {
	var v string
	err := s.db.QueryRow(`SELECT value FROM meta WHERE name = ?`, name).Scan(&v)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return v, err
}

// setMeta remembers a value.
func (s *store) setMeta(name, value string) error {
	_, err := s.db.Exec(`INSERT INTO meta (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, value)
	return err
}

// close waits for what is being stored.
func (s *store) close() error {
	s.mu.Lock()
	if s.ended {
		s.mu.Unlock()
		return nil
	}
	s.ended = true
	close(s.jobs)
	s.mu.Unlock()
	<-s.done
	return s.db.Close()
}
