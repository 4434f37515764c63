//go:build !js

package journal

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// makeVersion1 makes a file as version 1 of the schema kept it. The statements
// are written out here, not taken from the migrations.
func makeVersion1(t *testing.T, path string, n int) (ids []string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	run := func(q string, args ...any) {
		t.Helper()
		if _, err := db.Exec(q, args...); err != nil {
			t.Fatal(err)
		}
	}
	run(`BEGIN`)
	run(`CREATE TABLE take (n INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, body TEXT NOT NULL)`)
	run(`CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID`)
	run(`INSERT INTO meta VALUES ('schema', '1')`)
	run(`PRAGMA user_version = 1`)
	run(`PRAGMA application_id = 1936486263`)
	for i := range n {
		e := entry(i)
		e.ID = fmt.Sprintf("%032d", i)
		body, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		run(`INSERT INTO take (id, body) VALUES (?, ?)`, e.ID, string(body))
		ids = append(ids, e.ID)
	}
	run(`COMMIT`)
	return ids
}

func TestAFileOfVersion1IsBroughtUpToDate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	ids := makeVersion1(t, path, 300)
	if _, err := OpenReadOnly(path); err == nil {
		t.Error("it was opened to read without being brought up to date")
	}
	j := open1(t, path)
	if a := j.Asides(); len(a) > 0 {
		t.Fatalf("set aside: %+v", a)
	}
	got := read(t, j)
	if len(got) != len(ids) {
		t.Fatalf("%d takes, want %d", len(got), len(ids))
	}
	for i, e := range got {
		want := entry(i)
		want.ID = ids[i]
		if diff := cmp.Diff(want, e); diff != "" {
			t.Fatalf("take %d (-want +got):\n%s", i, diff)
		}
	}
	marks, err := j.Marks()
	if err != nil || len(marks) != 300 || marks[299] != got[299].Mark() {
		t.Errorf("marks: %d, %v", len(marks), err)
	}
	if err := j.Check(t.Context()); err != nil {
		t.Error(err)
	}
	j.Close()

	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var tables string
	var v int
	if err := db.QueryRow(`SELECT group_concat(name, ' ') FROM (SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name)`).Scan(&tables); err != nil {
		t.Fatal(err)
	}
	if err := db.QueryRow(`PRAGMA user_version`).Scan(&v); err != nil {
		t.Fatal(err)
	}
	if tables != "lane meta strip take" || v != 2 {
		t.Errorf("tables %q, version %d", tables, v)
	}
}

// A take of version 1 that cannot be read does not take the others with it.
func TestADamagedFileOfVersion1(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	makeVersion1(t, path, 20)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`UPDATE take SET body = 'x' || body WHERE n = 7`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	j := open1(t, path)
	a := j.Asides()
	if len(a) != 1 || a[0].Saved != 19 || len(read(t, j)) != 19 {
		t.Fatalf("set aside: %+v; %d takes", a, len(read(t, j)))
	}
	if after, err := os.ReadFile(a[0].Path); err != nil || string(after) != string(before) {
		t.Errorf("what was set aside is not what was there: %v", err)
	}
}

func TestAFileOfALaterVersionIsLeftAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	open1(t, path).Close()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`PRAGMA user_version = 9; UPDATE meta SET value = '9'`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before, _ := os.ReadFile(path)
	if _, err := Open(path); !errors.Is(err, ErrNewer) {
		t.Errorf("Open: %v, want ErrNewer", err)
	}
	if _, err := OpenReadOnly(path); !errors.Is(err, ErrNewer) {
		t.Errorf("OpenReadOnly: %v, want ErrNewer", err)
	}
	if after, _ := os.ReadFile(path); string(after) != string(before) {
		t.Error("the file was changed")
	}
}
