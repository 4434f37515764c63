//go:build !js

package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slowneedle/drills"
)

func open1(t *testing.T, path string) *Journal {
	t.Helper()
	j, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

func fill(t *testing.T, j *Journal, n int) (all []Entry) {
	t.Helper()
	for i := range n {
		e, err := j.Add(entry(i))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

func read(t *testing.T, j *Journal) (all []Entry) {
	t.Helper()
	for e, err := range j.All() {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

func TestWhatIsAddedIsThereAfterReopening(t *testing.T) {
	path := filepath.Join(memoryDir(t), "folder with ? # % [x] in its name", "journal.db")
	j := open1(t, path)
	want := fill(t, j, 300)
	j.Close()
	j = open1(t, path)
	if diff := cmp.Diff(want, read(t, j)); diff != "" {
		t.Errorf("takes differ after reopening (-want +got):\n%s", diff)
	}
	marks, err := j.Marks()
	if err != nil || len(marks) != len(want) {
		t.Fatalf("Marks: %d, %v", len(marks), err)
	}
	for i, e := range want {
		if diff := cmp.Diff(e.Mark(), marks[i]); diff != "" {
			t.Fatalf("mark %d (-want +got):\n%s", i, diff)
		}
	}
	if err := j.Check(t.Context()); err != nil {
		t.Error(err)
	}
	if len(j.Asides()) > 0 {
		t.Errorf("set aside: %v", j.Asides())
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("others may read it: %v %v", info.Mode(), err)
	}
}

// A commit waits for the disk, the folder entry of the rollback journal
// included (SQLite's synchronous=EXTRA, which is 3).
func TestCommitsWaitForTheDisk(t *testing.T) {
	j := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	for pragma, want := range map[string]string{
		"synchronous": "3", "journal_mode": "delete", "fullfsync": "1", "secure_delete": "1", "page_size": "4096",
	} {
		var got string
		if err := j.db.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
			t.Errorf("%s is %s, want %s; %v", pragma, got, want, err)
		}
	}
}

func TestAddTwiceIsAddOnce(t *testing.T) {
	j := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	a := fill(t, j, 1)[0]
	b := fill(t, j, 1)[0]
	if a.ID != b.ID || len(read(t, j)) != 1 {
		t.Errorf("the same take was kept twice: %s %s", a.ID, b.ID)
	}
	if marks, _ := j.Marks(); len(marks) != 1 {
		t.Errorf("%d marks", len(marks))
	}
}

func TestASecondWindowMayOnlyRead(t *testing.T) {
	path := filepath.Join(memoryDir(t), "journal.db")
	j := open1(t, path)
	fill(t, j, 5)
	if _, err := Open(path); !errors.Is(err, ErrInUse) {
		t.Fatalf("second Open: %v, want ErrInUse", err)
	}
	// The first holds the lock against other programs as well, also after that.
	if out, err := window("open", path, 0).CombinedOutput(); err == nil || !strings.Contains(string(out), ErrInUse.Error()) {
		t.Fatalf("another program opens it: %s, %v", out, err)
	}
	second, err := OpenReadOnly(path)
	if err != nil {
		t.Fatal(err)
	}
	defer second.Close()
	if !second.ReadOnly() || len(read(t, second)) != 5 {
		t.Error("the second window does not read five takes")
	}
	if _, err := second.Add(entry(9)); !errors.Is(err, ErrReadOnly) {
		t.Errorf("Add: %v, want ErrReadOnly", err)
	}
	if err := second.ForgetAll(); !errors.Is(err, ErrReadOnly) {
		t.Errorf("ForgetAll: %v, want ErrReadOnly", err)
	}
	if _, err := j.Add(entry(6)); err != nil { // writing goes on
		t.Error(err)
	}
	if len(read(t, second)) != 6 {
		t.Error("the second window does not see the new take")
	}
	j.Close()
	again := open1(t, path) // the lock is free again
	if len(read(t, again)) != 6 {
		t.Error("a take is missing")
	}
}

// One window writes while others read: nobody is refused, and what is read is
// whole.
func TestReadingWhileWriting(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	j := open1(t, path)
	const takes = 60
	var group sync.WaitGroup
	done := make(chan struct{})
	for range 2 {
		group.Go(func() {
			r, err := OpenReadOnly(path)
			if err != nil {
				t.Error(err)
				return
			}
			defer r.Close()
			for last := 0; ; {
				select {
				case <-done:
					return
				default:
				}
				marks, err := r.Marks()
				if err != nil || len(marks) < last {
					t.Errorf("%d marks after %d, %v", len(marks), last, err)
					return
				}
				last = len(marks)
			}
		})
	}
	group.Go(func() {
		defer close(done)
		for i := range takes {
			if _, err := j.Add(entry(i)); err != nil {
				t.Error(err)
			}
		}
	})
	group.Go(func() { // and the writer's own window reads beside
		for range 5 {
			for _, err := range j.All() {
				if err != nil {
					t.Error(err)
				}
			}
			if err := j.Check(t.Context()); err != nil {
				t.Error(err)
			}
		}
	})
	group.Wait()
	if n := len(read(t, j)); n != takes || len(j.Asides()) > 0 {
		t.Errorf("%d takes, set aside %v", n, j.Asides())
	}
}

func TestEntriesThatAreWrongAreRefusedByField(t *testing.T) {
	j := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	nan := 0.0
	nan /= nan
	for want, change := range map[string]func(*Entry){
		"when is missing":      func(e *Entry) { e.When = time.Time{} },
		"year 12026":           func(e *Entry) { e.When = e.When.AddDate(10000, 0, 0) },
		"drill is missing":     func(e *Entry) { e.Drill = "" },
		"level -1":             func(e *Entry) { e.Level = -1 },
		"index -1":             func(e *Entry) { e.Index = -1 },
		"points 101":           func(e *Entry) { e.Verdict.Points = 101 },
		"odd \"rumble\"":       func(e *Entry) { e.Verdict.Odd, e.Verdict.OddDB = "rumble", 1 },
		"odd_db 0 is":          func(e *Entry) { e.Verdict.Odd = drills.OddClip },
		"odd_db 1e+300":        func(e *Entry) { e.Verdict.Odd, e.Verdict.OddDB = drills.OddHiss, 1e300 },
		"error_db NaN":         func(e *Entry) { e.Verdict.ErrorDB = nan },
		"kind must be at most": func(e *Entry) { e.Kind = "two\nlines" },
		"rig must be at most":  func(e *Entry) { e.Rig = strings.Repeat("x", 201) },
		"tolerance_db -1":      func(e *Entry) { e.ToleranceDB = -1 },
		"tolerance_db NaN":     func(e *Entry) { e.ToleranceDB = nan },
		"settings":             func(e *Entry) { e.Settings = json.RawMessage(`{`) },
		"NaN":                  func(e *Entry) { e.Verdict.HeadroomDB = nan },
	} {
		e := entry(0)
		change(&e)
		if _, err := j.Add(e); err == nil || !strings.Contains(strings.ToLower(err.Error()), strings.ToLower(want)) {
			t.Errorf("got %v, want an error with %q", err, want)
		}
	}
	if got := read(t, j); len(got) > 0 {
		t.Errorf("%d takes were kept", len(got))
	}
}

func TestForgetAll(t *testing.T) {
	dir := memoryDir(t)
	path := filepath.Join(dir, "journal.db")
	j := open1(t, path)
	fill(t, j, 200)
	if err := j.Check(t.Context()); err != nil || len(inCopy(t, path)) != 200 {
		t.Fatalf("no copy: %v", err)
	}
	part := filepath.Join(dir, ".journal-copy.db.x.part") // of a copy cut short
	aside := filepath.Join(dir, "journal-broken-20260101T000000Z-1.db")
	mine := filepath.Join(dir, "my-journal-broken-x.db")
	for _, p := range []string{aside, aside + "-journal", part, mine} {
		if err := os.WriteFile(p, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.ForgetAll(); err != nil {
		t.Fatal(err)
	}
	if n := len(read(t, j)); n != 0 {
		t.Errorf("%d takes are left", n)
	}
	if marks, err := j.Marks(); err != nil || len(marks) > 0 {
		t.Errorf("%d marks are left, %v", len(marks), err)
	}
	if names := ls(t, dir); fmt.Sprint(names) != "[journal.db journal.db.lock my-journal-broken-x.db]" {
		t.Errorf("left: %v", names)
	}
	if info, _ := os.Stat(path); info.Size() > 64<<10 {
		t.Errorf("the file still has %d bytes", info.Size())
	}
	fill(t, j, 3)
	j.Close()
	if n := len(read(t, open1(t, path))); n != 3 {
		t.Errorf("%d takes after starting again", n)
	}
}

func ls(t *testing.T, dir string) (names []string) {
	t.Helper()
	all, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range all {
		names = append(names, f.Name())
	}
	return names
}

func TestMark(t *testing.T) {
	e := entry(2)
	e.Rig, e.Level = "digital:reference=-20", 7
	if m := e.Mark(); m.Rig != "digital" || m.Level != 7 || m.ErrorDB != e.Verdict.ErrorDB || m.Right != e.Verdict.InWindow {
		t.Errorf("%+v", m)
	}
	e.Sheet = "CODE" // a sheet's level is the teacher's, not the learner's
	if m := e.Mark(); m.Level != 0 {
		t.Errorf("a take on a sheet counts on the ladder: %+v", m)
	}
}

// What belongs to a test form, and what the learner thought to be off, is stored and
// comes back, also by way of an export; a take on a class's sheet is of no test form.
func TestFormAndEstimateAreKept(t *testing.T) {
	j := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	db := -1.5
	form, class := entry(1), entry(2)
	form.Sheet, form.Settings = "4GAH 6AW7 PY0M", json.RawMessage(`{"reserved":true}`)
	class.Sheet, class.EstimateDB = "4GAH 6AW7 PY0N", &db
	for _, e := range []Entry{form, class} {
		if _, err := j.Add(e); err != nil {
			t.Fatal(err)
		}
	}
	for _, export := range []func(io.Writer) error{j.ExportJSON, j.ExportCSV} {
		var out bytes.Buffer
		if err := export(&out); err != nil {
			t.Fatal(err)
		}
		k := open1(t, filepath.Join(memoryDir(t), "other.db"))
		if _, err := k.Import(&out); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(read(t, j), read(t, k)); diff != "" {
			t.Errorf("takes differ after an import (-want +got):\n%s", diff)
		}
		marks, err := k.Marks()
		if err != nil || len(marks) != 2 || marks[0].Form != form.Sheet || marks[1].Form != "" {
			t.Errorf("%+v, %v", marks, err)
		}
	}
	far := entry(3)
	far.EstimateDB = new(float64)
	*far.EstimateDB = 2000
	if _, err := j.Add(far); err == nil || !strings.Contains(err.Error(), "estimate_db") {
		t.Errorf("an estimate of 2000 dB: %v", err)
	}
}

func TestPathIsInTheDataFolder(t *testing.T) {
	if p := Path(); !filepath.IsAbs(p) || filepath.Base(p) != "journal.db" {
		t.Error(p)
	}
}

func TestClosedJournalSaysSo(t *testing.T) {
	j := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	j.Close()
	if _, err := j.Marks(); err == nil || !strings.Contains(err.Error(), "closed") {
		t.Error(err)
	}
}
