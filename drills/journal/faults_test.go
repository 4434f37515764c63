//go:build !js

package journal

import (
	"context"
	"database/sql"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The disk turns read-only between two takes, as systems do with a disk that
// fails: the take is refused in one sentence, what is there can be read, and
// the same take is kept once it can be.
func TestReadOnlyWhileATakeIsLocked(t *testing.T) {
	j := open1(t, filepath.Join(t.TempDir(), "journal.db"))
	fill(t, j, 5)
	order := func(what string) {
		t.Helper()
		if _, err := j.db.Exec(what); err != nil {
			t.Fatal(err)
		}
	}
	order(`PRAGMA query_only = 1`)
	for range 3 {
		_, err := j.Add(entry(5))
		if err == nil || !strings.Contains(err.Error(), "no permission to write") || strings.Contains(err.Error(), "\n") {
			t.Fatalf("Add: %v", err)
		}
	}
	if got := len(read(t, j)); got != 5 || len(j.Asides()) > 0 {
		t.Errorf("%d takes, set aside: %v", got, j.Asides())
	}
	order(`PRAGMA query_only = 0`)
	if _, err := j.Add(entry(5)); err != nil {
		t.Fatal(err)
	}
	if got := len(read(t, j)); got != 6 {
		t.Errorf("%d takes after it could be written again, want 6", got)
	}
}

// The file does not come free for a while, as with a disk that is slow or a
// program that copies it: Add waits and stores the take once. It does not wait
// for ever, says what is wrong, and the take can be added again.
func TestSlowWhileATakeIsLocked(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "journal.db")
	j := open1(t, path)
	fill(t, j, 2)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	other, err := db.Conn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	order := func(what string) {
		t.Helper()
		if _, err := other.ExecContext(context.Background(), what); err != nil {
			t.Fatal(err)
		}
	}
	order(`BEGIN IMMEDIATE`)
	type result struct {
		err  error
		took time.Duration
	}
	added := make(chan result)
	add := func(i int) {
		from := time.Now()
		_, err := j.Add(entry(i))
		added <- result{err, time.Since(from)}
	}
	go add(2)
	free := time.After(600 * time.Millisecond)
	select {
	case r := <-added:
		t.Fatalf("Add did not wait: %v", r.err)
	case <-free:
	}
	order(`ROLLBACK`)
	if r := <-added; r.err != nil || r.took < 600*time.Millisecond {
		t.Errorf("held for 0.6 s: %v after %v", r.err, r.took)
	}
	if got := len(read(t, j)); got != 3 {
		t.Errorf("%d takes, want 3", got)
	}

	order(`BEGIN EXCLUSIVE`)
	go add(3)
	r := <-added
	if r.err == nil || !strings.Contains(r.err.Error(), "another program holds the file") || strings.Contains(r.err.Error(), "\n") {
		t.Errorf("held for good: %v", r.err)
	}
	if r.took > 30*time.Second {
		t.Errorf("Add gave up after %v only", r.took)
	}
	order(`ROLLBACK`)
	if _, err := j.Add(entry(3)); err != nil {
		t.Error(err)
	}
	if got := len(read(t, j)); got != 4 {
		t.Errorf("%d takes, want 4", got)
	}
}
