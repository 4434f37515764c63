//go:build !js

package journal

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"slowneedle/drills/progress"
)

// large makes a journal of 100,000 takes: 2,000 different ones, each under 50
// names and times.
func large(tb testing.TB) string {
	const takes, different = 100_000, 2_000
	path := filepath.Join(memoryDir(tb), "journal.db")
	j, err := Open(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer j.Close()
	if _, err := j.db.Exec(`PRAGMA cache_size = -65536`); err != nil {
		tb.Fatal(err)
	}
	for round := range takes / different {
		rows := make([]row, different)
		for i := range rows {
			e := entry(i)
			e.When = e.When.Add(time.Duration(round) * 30 * time.Hour)
			if rows[i], err = sealed(e); err != nil {
				tb.Fatal(err)
			}
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
	for _, k := range book.Keys() {
		book.Summary(k, 0)
		book.Series(k, 200)
	}
	book.Summary(progress.Key{}, 0)
	book.Series(progress.Key{}, 200)
	return book
}

// With a hundred thousand takes the progress page opens within 200 ms.
func BenchmarkProgressOf100000Takes(b *testing.B) {
	path := large(b)
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(info.Size())/1e6, "MB")
	for b.Loop() {
		openProgress(b, path)
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
