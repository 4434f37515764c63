//go:build !js

package server

import (
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
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

// store keeps a course in one SQLite database, class.db in a folder of its own.
//
// It uses a rollback journal with synchronous=EXTRA: what add and set have returned
// from survives a killed process and, as far as the disk keeps its promises, a power
// cut. One server has a store at a time.
type store struct {
	db   *sql.DB
	max  int64 // bytes of hand-ins
	jobs chan job
	done chan struct{}

	mu    sync.Mutex
	ended bool
	bytes int64 // of hand-ins; the writer's alone once it runs
}

// row is one stored hand-in.
type row struct {
	id, code string
	body     []byte
	at       time.Time // of arrival
	late     bool
	removed  bool // by the teacher
}

// job is something to be stored, and whoever waits for it.
type job struct {
	store  func(*sql.Tx) error
	answer chan error
}

// Errors of a store, beside errSameID and errStoreFull.
var (
	errClosed = errors.New("the server is closing")
	errInUse  = errors.New("another server has this folder open")
	errBroken = errors.New("it is damaged, or no store of a class; put back a copy of it, or name another folder")
	errForm   = errors.New("it is of another version of the program; name another folder")
)

const storeVersion = 4

const schema = `
	CREATE TABLE IF NOT EXISTS handin (
		n       INTEGER PRIMARY KEY,  -- order of arrival
		id      TEXT NOT NULL UNIQUE,
		code    TEXT NOT NULL,
		at      INTEGER NOT NULL,     -- arrival, Unix milliseconds
		late    INTEGER NOT NULL,
		removed INTEGER NOT NULL DEFAULT 0,
		body    BLOB NOT NULL         -- the file as it came
	);
	CREATE TABLE IF NOT EXISTS kept ( -- all else, as JSON
		kind  TEXT NOT NULL,
		name  TEXT NOT NULL,          -- one of its kind
		value TEXT NOT NULL,
		PRIMARY KEY (kind, name)
	) WITHOUT ROWID;
	PRAGMA application_id = 1936485475;
	PRAGMA user_version = 4;`

// openStore opens or makes the store of a folder. At most so many bytes of
// hand-ins are kept.
func openStore(dir string, most int64) (*store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("the folder for hand-ins: %w", err)
	}
	path, err := filepath.Abs(filepath.Join(dir, "class.db"))
	if err != nil {
		return nil, fmt.Errorf("the folder for hand-ins: %w", err)
	}
	// SQLite gives its journal the permissions of the database, so these are set
	// before there is one.
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err == nil {
		err = errors.Join(f.Chmod(0o600), f.Close())
	}
	if err != nil {
		return nil, fmt.Errorf("opening %s: %w", path, err)
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
	s := &store{db: db, max: most, jobs: make(chan job, 2048), done: make(chan struct{})}
	if err := s.prepare(); err != nil {
		db.Close()
		return nil, fmt.Errorf("opening %s: %w", path, err)
	}
	go s.write()
	return s, nil
}

// prepare takes the database for this server alone and makes its tables.
func (s *store) prepare() error {
	var version int
	err := s.db.QueryRow("PRAGMA user_version").Scan(&version)
	if err == nil && version != 0 && version != storeVersion {
		return errForm
	}
	if err == nil {
		_, err = s.db.Exec("BEGIN EXCLUSIVE; " + schema + " COMMIT;")
	}
	if err == nil {
		err = s.db.QueryRow(`SELECT coalesce(sum(length(body)), 0) FROM handin`).Scan(&s.bytes)
	}
	return told(err)
}

// told is what people are told in place of an error of the database.
func told(err error) error {
	var code *sqlite.Error
	if errors.As(err, &code) {
		switch code.Code() & 0xff {
		case sqlite3.SQLITE_BUSY:
			return errInUse
		case sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
			return errBroken
		}
	}
	return err
}

// add stores a hand-in and returns once it is on the disk.
func (s *store) add(ctx context.Context, r row) error {
	return s.do(ctx, func(tx *sql.Tx) error {
		if s.bytes+int64(len(r.body)) > s.max {
			return errStoreFull
		}
		done, err := tx.Exec(`INSERT INTO handin (id, code, at, late, body) VALUES (?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`,
			r.id, r.code, r.at.UnixMilli(), r.late, r.body)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n > 0 {
			s.bytes += int64(len(r.body))
			return err
		}
		var have []byte
		if err := tx.QueryRow(`SELECT body FROM handin WHERE id = ?`, r.id).Scan(&have); err != nil {
			return err
		}
		if sha256.Sum256(have) != sha256.Sum256(r.body) {
			return errSameID
		}
		return nil
	})
}

// set keeps a value under a kind and a name, in place of what was kept there, and
// returns once it is on the disk.
func (s *store) set(ctx context.Context, kind, name string, value any) error {
	text, err := json.Marshal(value)
	if err != nil {
		return fmt.Errorf("storing: %w", err)
	}
	return s.do(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`INSERT OR REPLACE INTO kept (kind, name, value) VALUES (?, ?, ?)`, kind, name, text)
		return err
	})
}

// do has something stored and returns once it is on the disk.
func (s *store) do(ctx context.Context, what func(*sql.Tx) error) error {
	j := job{what, make(chan error, 1)}
	s.mu.Lock()
	if s.ended {
		s.mu.Unlock()
		return errClosed
	}
	select {
	case s.jobs <- j:
		s.mu.Unlock()
	default:
		s.mu.Unlock()
		return errors.New("too much is being stored at once")
	}
	select {
	case err := <-j.answer:
		return err
	case <-ctx.Done():
		return ctx.Err() // it may yet be stored; sending again finds out
	}
}

// write puts what waits into the database, as much as there is at once in one
// transaction, and answers after its commit.
func (s *store) write() {
	defer close(s.done)
	const most = 512
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
		bytes := s.bytes
		answers, err := s.commit(batch)
		if err != nil {
			s.bytes = bytes
			err = fmt.Errorf("storing: %w", err)
		}
		for i, j := range batch {
			j.answer <- cmp.Or(err, answers[i])
		}
	}
}

// commit stores a batch. The answers are the refusals; with an error nothing of it
// is stored.
func (s *store) commit(batch []job) (answers []error, err error) {
	answers = make([]error, len(batch))
	tx, err := s.db.Begin()
	if err != nil {
		return answers, err
	}
	defer tx.Rollback()
	for i, j := range batch {
		err := j.store(tx)
		if err != nil && err != errSameID && err != errStoreFull {
			return answers, err
		}
		answers[i] = err
	}
	return answers, tx.Commit()
}

// remove marks a hand-in as removed by the teacher. It stays in the database, so
// that it is not taken again and can be brought back by hand.
func (s *store) remove(ctx context.Context, id string) error {
	return s.do(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE handin SET removed = 1 WHERE id = ?`, id)
		return err
	})
}

// rows gives what a query finds, row by row. Nothing is stored meanwhile.
func (s *store) rows(do func(scan func(...any) error) error, query string, args ...any) error {
	rows, err := s.db.Query(query, args...)
	if err == nil {
		defer rows.Close()
		for err == nil && rows.Next() {
			err = do(rows.Scan)
		}
		err = cmp.Or(err, rows.Err())
	}
	if err != nil {
		return fmt.Errorf("reading the class's store: %w", told(err))
	}
	return nil
}

// each gives every hand-in in order of arrival, as its bytes are now: a check
// finds those that are not as they came, and the others are none the worse. They are
// read a few at a time, so that others are stored however long do takes.
func (s *store) each(do func(row) error) error {
	const few = 16
	last := int64(0)
	for {
		var list []row
		err := s.rows(func(scan func(...any) error) error {
			var r row
			var ms int64
			err := scan(&last, &r.id, &r.code, &ms, &r.late, &r.removed, &r.body)
			r.at = time.UnixMilli(ms).UTC()
			list = append(list, r)
			return err
		}, `SELECT n, id, code, at, late, removed, body FROM handin WHERE n > ? ORDER BY n LIMIT ?`, last, few)
		if err != nil {
			return err
		}
		for _, r := range list {
			if err := do(r); err != nil {
				return err
			}
		}
		if len(list) < few {
			return nil
		}
	}
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
