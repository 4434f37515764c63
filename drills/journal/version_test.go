//go:build !js

package journal

import (
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A journal of another edition is refused in a sentence that says what to do,
// and is left as it is.
func TestJournalsOfOtherEditionsAreRefused(t *testing.T) {
	for name, c := range map[string]struct {
		version string
		is      error
		advice  string
	}{
		"later":   {"9", ErrNewer, "update it"},
		"earlier": {"2", errEarlier, "rename the file"},
	} {
		path := filepath.Join(t.TempDir(), "journal.db")
		db, err := sql.Open("sqlite", path)
		if err != nil {
			t.Fatal(err)
		}
		_, err = db.Exec(`PRAGMA application_id = 0x736c6f77; PRAGMA user_version = ` + c.version + `;
			CREATE TABLE take (n INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, other BLOB)`)
		if err := errors.Join(err, db.Close()); err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadFile(path)
		for what, open := range map[string]func(string) (*Journal, error){"Open": Open, "OpenReadOnly": OpenReadOnly} {
			_, err := open(path)
			if !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.advice) || !strings.Contains(err.Error(), path) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s, %s: %v", name, what, err)
			}
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

// A damaged version number is not taken for that of another edition.
func TestADamagedVersionIsDamage(t *testing.T) {
	for _, damage := range []string{`PRAGMA user_version = 9`, `PRAGMA user_version = 1`, `PRAGMA application_id = 1`} {
		path := filepath.Join(memoryDir(t), "journal.db")
		j := open1(t, path)
		fill(t, j, 3)
		if _, err := j.db.Exec(damage); err != nil {
			t.Fatal(err)
		}
		j.Close()
		if j = open1(t, path); len(j.Asides()) != 1 || len(read(t, j)) != 3 {
			t.Errorf("%s: set aside %v, %d takes", damage, j.Asides(), len(read(t, j)))
		}
	}
}
