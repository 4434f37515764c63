//go:build !js

package journal

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"slowneedle/drills/progress"
)

// large makes a journal of 100,000 takes: 2,000 different ones, each stored
// under 50 names and times.
func large(tb testing.TB) string {
	const takes, different = 100_000, 2_000
	path := filepath.Join(tb.TempDir(), "journal.db")
	j, err := Open(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer j.Close()
	if _, err := j.db.Exec(`PRAGMA cache_size = -65536`); err != nil {
		tb.Fatal(err)
	}
	rows := make([]row, different)
	for i := range rows {
		if rows[i], err = newRow(entry(i)); err != nil {
			tb.Fatal(err)
		}
	}
	for range takes / different {
		for i := range rows {
			r := &rows[i]
			r.at += (30 * time.Hour).Milliseconds()
			r.id = fmt.Sprintf("%s at %d", r.id[:16], r.at)
		}
		if _, err := j.addRows(rows, false); err != nil {
			tb.Fatal(err)
		}
	}
	return path
}

// openProgress is what the progress page does: open the journal, read the
// marks, sum up every drill, family and rig, and what the plots show.
func openProgress(tb testing.TB, path string) (book *progress.Book) {
	j, err := Open(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer j.Close()
	marks, err := j.Marks()
	if err != nil || len(marks) != 100_000 {
		tb.Fatalf("%d marks, %v", len(marks), err)
	}
	book = progress.Read(marks)
	for _, k := range keysOf(marks) {
		book.Summary(k, 0)
		book.Series(k, 200)
	}
	book.Summary(progress.Key{}, 0)
	book.Series(progress.Key{}, 200)
	return book
}

func keysOf(marks []progress.Mark) (keys []progress.Key) {
	seen := make(map[progress.Key]bool)
	for _, m := range marks {
		k := progress.Key{Drill: m.Drill, Family: m.Family, Rig: m.Rig}
		if !seen[k] {
			seen[k] = true
			keys = append(keys, k)
		}
	}
	return keys
}

func BenchmarkProgressOf100000Takes(b *testing.B) {
	path := large(b)
	for b.Loop() {
		if s := openProgress(b, path).Summary(progress.Key{}, 0); s.Takes != 100_000 || !s.BiasDB.OK {
			b.Fatalf("%+v", s)
		}
	}
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(info.Size())/1e6, "MB")
}

// BenchmarkMarksOf100000Takes reads the columns alone.
func BenchmarkMarksOf100000Takes(b *testing.B) {
	j, err := Open(large(b))
	if err != nil {
		b.Fatal(err)
	}
	defer j.Close()
	for b.Loop() {
		if marks, err := j.Marks(); err != nil || len(marks) != 100_000 {
			b.Fatalf("%d marks, %v", len(marks), err)
		}
	}
}

func BenchmarkAddTo100000Takes(b *testing.B) {
	j, err := Open(large(b))
	if err != nil {
		b.Fatal(err)
	}
	defer j.Close()
	for i := 0; b.Loop(); i++ {
		if _, err := j.Add(entry(200_000 + i)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCheck100000Takes(b *testing.B) {
	j, err := Open(large(b))
	if err != nil {
		b.Fatal(err)
	}
	defer j.Close()
	for b.Loop() {
		if err := j.Check(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCopy5000Takes is what closing the journal after a practice costs.
func BenchmarkCopy5000Takes(b *testing.B) {
	path := filepath.Join(b.TempDir(), "journal.db")
	j, err := Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer j.Close()
	rows := make([]row, 5000)
	for i := range rows {
		if rows[i], err = newRow(entry(i)); err != nil {
			b.Fatal(err)
		}
	}
	if _, err := j.addRows(rows, false); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := os.Remove(copyPath(path)); err != nil && !os.IsNotExist(err) {
			b.Fatal(err)
		}
		if err := j.copy(); err != nil {
			b.Fatal(err)
		}
	}
}
