//go:build !js

package server

import (
	"cmp"
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

// store keeps a course in one SQLite database, class.db in a folder of its own.
//
// It uses a rollback journal with synchronous=EXTRA: what add has returned from
// survives a killed process and, as far as the disk keeps its promises, a power
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

// servedSheet is one sheet of the course.
type servedSheet struct {
	code          string
	opened        time.Time // when it was first open
	opens, closes time.Time // if they are set by date
	shut          bool      // by hand
	secret        string    // that the rounds of an exam follow from
}

// job is something to be stored, and whoever waits for it.
type job struct {
	store  func(*sql.Tx) error
	answer chan error
}

// Errors of a store.
var (
	errClash  = errors.New("another hand-in has this identity")
	errFull   = errors.New("the class's store is full")
	errClosed = errors.New("the server is closing")
	errInUse  = errors.New("another server has this folder open")
	errForm   = errors.New("it is of another version of the program; name another folder")
)

const storeVersion = 3

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
	CREATE TABLE IF NOT EXISTS sheet (
		code   TEXT PRIMARY KEY,
		opened INTEGER NOT NULL,      -- first served, Unix milliseconds
		opens  INTEGER NOT NULL,      -- by date, Unix milliseconds; 0: not by date
		closes INTEGER NOT NULL,
		shut   INTEGER NOT NULL,      -- by hand
		secret TEXT NOT NULL          -- of an exam
	) WITHOUT ROWID;
	CREATE TABLE IF NOT EXISTS sat (
		id     TEXT NOT NULL,         -- of the hand-in for an exam
		n      INTEGER NOT NULL,      -- round, in the order of play
		code   TEXT NOT NULL,
		who    TEXT NOT NULL,         -- id of the roster, or what the name looks like
		given  INTEGER NOT NULL,      -- Unix milliseconds
		locked INTEGER NOT NULL,      -- the same; 0: it is being played
		digest TEXT NOT NULL,         -- of the take
		PRIMARY KEY (id, n)
	) WITHOUT ROWID;
	CREATE TABLE IF NOT EXISTS same (
		looks TEXT PRIMARY KEY,       -- of a name, by which names are compared
		who   TEXT NOT NULL           -- name under which it counts
	) WITHOUT ROWID;
	CREATE TABLE IF NOT EXISTS meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
	PRAGMA application_id = 1936485475;
	PRAGMA user_version = 3;`

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
	if err != nil {
		return nil, fmt.Errorf("opening %s: %w", path, err)
	}
	err = errors.Join(f.Chmod(0o600), f.Close())
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
	var code *sqlite.Error
	if errors.As(err, &code) && code.Code()&0xff == sqlite3.SQLITE_BUSY {
		return errInUse
	}
	if err != nil {
		return err
	}
	return s.db.QueryRow(`SELECT coalesce(sum(length(body)), 0) FROM handin`).Scan(&s.bytes)
}

// add stores a hand-in and returns once it is on the disk.
func (s *store) add(ctx context.Context, r row) error {
	return s.do(ctx, func(tx *sql.Tx) error {
		if s.bytes+int64(len(r.body)) > s.max {
			return errFull
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
			return errClash
		}
		return nil
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
		if err != nil && err != errClash && err != errFull {
			return answers, err
		}
		answers[i] = err
	}
	return answers, tx.Commit()
}

// remove marks a hand-in as removed by the teacher. It stays in the database, so
// that it is not taken again and can be brought back by hand.
func (s *store) remove(id string) error {
	_, err := s.db.Exec(`UPDATE handin SET removed = 1 WHERE id = ?`, id)
	return err
}

// rows gives what a query finds, row by row.
func (s *store) rows(query string, do func(scan func(...any) error) error) error {
	rows, err := s.db.Query(query)
	if err != nil {
		return fmt.Errorf("reading the class's store: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows.Scan); err != nil {
			return fmt.Errorf("reading the class's store: %w", err)
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("reading the class's store: %w", err)
	}
	return nil
}

// each gives every hand-in in order of arrival, as its bytes are now: a check
// finds those that are not as they came, and the others are none the worse.
func (s *store) each(do func(row) error) error {
	return s.rows(`SELECT id, code, at, late, removed, body FROM handin ORDER BY n`, func(scan func(...any) error) error {
		var r row
		var ms int64
		if err := scan(&r.id, &r.code, &ms, &r.late, &r.removed, &r.body); err != nil {
			return err
		}
		r.at = time.UnixMilli(ms).UTC()
		return do(r)
	})
}

// sheets returns the sheets of the course in the order in which they were first
// served.
func (s *store) sheets() (list []servedSheet, err error) {
	err = s.rows(`SELECT code, opened, opens, closes, shut, secret FROM sheet ORDER BY opened, code`, func(scan func(...any) error) error {
		var c servedSheet
		var opened, opens, closes int64
		err := scan(&c.code, &opened, &opens, &closes, &c.shut, &c.secret)
		c.opened, c.opens, c.closes = moment(opened), moment(opens), moment(closes)
		list = append(list, c)
		return err
	})
	return list, err
}

// setSheet stores a sheet of the course, in place of what was stored of it.
func (s *store) setSheet(c servedSheet) error {
	_, err := s.db.Exec(`INSERT OR REPLACE INTO sheet (code, opened, opens, closes, shut, secret) VALUES (?, ?, ?, ?, ?, ?)`,
		c.code, millis(c.opened), millis(c.opens), millis(c.closes), c.shut, c.secret)
	return err
}

func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func moment(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

// meta returns a remembered value, or what make gives if there is none yet.
func (s *store) meta(name string, make func() string) (string, error) {
	var v string
	err := s.db.QueryRow(`SELECT value FROM meta WHERE name = ?`, name).Scan(&v)
	if errors.Is(err, sql.ErrNoRows) {
		v = make()
		err = s.setMeta(name, v)
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
