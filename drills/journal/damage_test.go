//go:build !js

package journal

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"
)

// damaged is what damage gave.
type damaged struct {
	noticed bool // it was set aside
	saved   int  // takes in the new journal
}

// openDamaged opens a journal whose file holds these bytes, beside a copy unless
// that is nil, and checks what is promised: it opens; takes can be added; what
// was damaged is beside it unchanged; and no take reads other than it was
// stored.
func openDamaged(t *testing.T, content, copied []byte, original map[string]Entry) damaged {
	t.Helper()
	dir := memoryDir(t)
	path := filepath.Join(dir, "journal.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	if copied != nil {
		if err := os.WriteFile(copyPath(path), copied, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	j, err := Open(path)
	if err != nil {
		t.Fatalf("it does not open: %v", err)
	}
	defer j.Close()
	fresh := entry(1_000_000)
	if fresh, err = j.Add(fresh); err != nil {
		t.Fatalf("nothing can be added: %v", err)
	}
	d := damaged{}
	found := false
	for e, err := range j.All() {
		if err != nil {
			t.Fatal(err)
		}
		if e.ID == fresh.ID {
			found = true
			continue
		}
		if want, ok := original[e.ID]; !ok || !reflect.DeepEqual(e, want) {
			t.Fatalf("take %s is not as it was stored", e.ID)
		}
		d.saved++
	}
	if !found {
		t.Fatal("the take just added is lost")
	}
	marks, err := j.Marks()
	if err != nil || len(marks) != d.saved+1 {
		t.Fatalf("%d marks for %d takes, %v", len(marks), d.saved+1, err)
	}
	if a := j.Asides(); len(a) > 0 {
		d.noticed = true
		kept, err := os.ReadFile(a[0])
		if err != nil || !bytes.Equal(kept, content) {
			t.Fatalf("what was set aside at %s is not what was there: %v", a[0], err)
		}
		if filepath.Dir(a[0]) != dir {
			t.Fatalf("it was set aside to %s", a[0])
		}
	} else if d.saved != len(original) {
		t.Fatalf("%d of %d takes are left and nothing is said", d.saved, len(original))
	}
	for _, name := range ls(t, dir) {
		if strings.HasPrefix(name, "salvage") {
			t.Fatalf("%s was left behind", name)
		}
	}
	return d
}

// memoryDir is a folder in memory where the system has one. It is for tests
// about what is stored, which would otherwise mostly wait for the disk.
func memoryDir(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "journal-test-*")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

// sample makes the bytes of a journal and its takes by name. The copy holds the
// first takes, as many as closed says: the rest were added since the journal
// was last closed.
func sample(t testing.TB, n, closed int) (content, copied []byte, original map[string]Entry) {
	path := filepath.Join(t.TempDir(), "journal.db")
	add := func(from, to int) *Journal {
		t.Helper()
		j, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		var all []row
		for i := from; i < to; i++ {
			r, err := newRow(entry(i))
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, r)
		}
		if _, err := j.addRows(all, false); err != nil {
			t.Fatal(err)
		}
		return j
	}
	if err := add(0, closed).Close(); err != nil {
		t.Fatal(err)
	}
	copied, err := os.ReadFile(copyPath(path))
	if err != nil {
		t.Fatal(err)
	}
	j := add(closed, n)
	defer j.Close()
	original = make(map[string]Entry)
	for e, err := range j.All() {
		if err != nil {
			t.Fatal(err)
		}
		original[e.ID] = e
	}
	content, err = os.ReadFile(path)
	if err != nil || len(original) != n {
		t.Fatalf("%d takes, %v", len(original), err)
	}
	return content, copied, original
}

// A journal of 40 takes is damaged in all ways 500 times, ten takes after it was
// last closed: the copy has 30 of them.
func TestDamageAtRandomBytes(t *testing.T) {
	t.Parallel()
	const closed = 30
	content, copied, original := sample(t, 40, closed)
	rng := rand.New(rand.NewPCG(5, 5))
	const rounds = 500
	noticed, saved, empty := 0, 0, 0
	for range rounds {
		b := bytes.Clone(content)
		switch rng.IntN(4) {
		case 0: // one byte
			b[rng.IntN(len(b))] ^= byte(1 + rng.IntN(255))
		case 1: // a few
			for range 2 + rng.IntN(30) {
				b[rng.IntN(len(b))] = byte(rng.IntN(256))
			}
		case 2: // a stretch of zeros, as of a lost sector
			at := rng.IntN(len(b)) / 512 * 512
			clear(b[at:min(at+512*(1+rng.IntN(8)), len(b))])
		case 3: // cut off
			b = b[:1+rng.IntN(len(b)-1)]
		}
		d := openDamaged(t, b, copied, original)
		if d.saved < closed {
			t.Fatalf("%d takes were brought over, the copy has %d", d.saved, closed)
		}
		if d.noticed {
			noticed++
			saved += d.saved
			if d.saved == 0 {
				empty++
			}
		}
	}
	t.Logf("%d journals damaged, %d noticed; of those %.1f %% of takes were brought over, none from %d",
		rounds, noticed, 100*float64(saved)/float64(noticed*len(original)), empty)
}

// Each byte of the header in turn.
func TestDamageInTheHeader(t *testing.T) {
	t.Parallel()
	content, copied, original := sample(t, 3, 2)
	for at := range 100 {
		b := bytes.Clone(content)
		for _, damage := range []byte{0xff, 1} {
			b[at] = content[at] ^ damage
			if d := openDamaged(t, b, copied, original); d.saved < 2 {
				t.Errorf("byte %d: %d takes, the copy has 2", at, d.saved)
			}
			openDamaged(t, b, nil, original)
		}
	}
}

// A file left empty begins again from the copy; a copy that is damaged is not
// used.
func TestTheCopyIsUsedOnlyIfWhole(t *testing.T) {
	_, copied, original := sample(t, 20, 20)
	if d := openDamaged(t, nil, copied, original); d.saved != 20 || !d.noticed {
		t.Errorf("an empty file: %+v", d)
	}
	bad := bytes.Clone(copied)
	for at := 100; at < len(bad); at += 500 {
		bad[at] ^= 1
	}
	if d := openDamaged(t, []byte("x"), bad, original); d.saved != 0 || !d.noticed {
		t.Errorf("both damaged: %+v", d)
	}
}

// What a journal's copy holds, by name of the take.
func inCopy(t *testing.T, path string) map[string]bool {
	t.Helper()
	c, err := OpenReadOnly(copyPath(path))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	ids := make(map[string]bool)
	for _, e := range read(t, c) {
		ids[e.ID] = true
	}
	return ids
}

func TestTheCopyIsMadeByClosingAndByACleanCheck(t *testing.T) {
	path := filepath.Join(memoryDir(t), "journal.db")
	j := open1(t, path)
	all := fill(t, j, 5)
	if _, err := os.Stat(copyPath(path)); err == nil {
		t.Error("there is a copy already")
	}
	if err := j.Check(t.Context()); err != nil || len(inCopy(t, path)) != 5 {
		t.Errorf("after a check: %v", err)
	}
	e, err := j.Add(entry(5))
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	got := inCopy(t, path)
	for _, e := range append(all, e) {
		if !got[e.ID] {
			t.Errorf("take %d is not in the copy", e.Index)
		}
	}
	if info, err := os.Stat(copyPath(path)); err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("others may read it: %v %v", info.Mode(), err)
	}
	// Nothing was added: the copy stays as it is, also after a start.
	before, _ := os.Stat(copyPath(path))
	j = open1(t, path)
	if err := errors.Join(j.Check(t.Context()), j.Close()); err != nil {
		t.Fatal(err)
	}
	if after, err := os.Stat(copyPath(path)); err != nil || !os.SameFile(before, after) {
		t.Errorf("it was copied without need, %v", err)
	}
	// A clock that was set back does not make an old copy a new one.
	j = open1(t, path)
	if _, err := j.Add(entry(6)); err != nil {
		t.Fatal(err)
	}
	past := before.ModTime().Add(-time.Hour)
	if err := errors.Join(os.Chtimes(path, past, past), j.Close()); err != nil {
		t.Fatal(err)
	}
	if n := len(inCopy(t, path)); n != 7 {
		t.Errorf("after the clock was set back the copy has %d takes, want 7", n)
	}
	// Damage is not copied over what was whole.
	j = open1(t, path)
	if _, err := j.db.Exec(`UPDATE take SET body = zeroblob(100) WHERE n = 4`); err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); !errors.Is(err, errDamaged) {
		t.Errorf("Close: %v", err)
	}
	if n := len(inCopy(t, path)); n != 7 {
		t.Errorf("the copy has %d takes, want 7", n)
	}
	if j = open1(t, path); len(read(t, j)) != 7 || len(j.Asides()) != 1 {
		t.Errorf("%d takes after opening again, set aside %v", len(read(t, j)), j.Asides())
	}
}

func TestWhatIsNoJournalIsSetAside(t *testing.T) {
	for name, content := range map[string]string{
		"text":        "Dear diary,\n" + strings.Repeat("the needle stood still. ", 100),
		"one byte":    "x",
		"header only": "SQLite format 3\x00",
		"zeros":       strings.Repeat("\x00", 8192),
	} {
		t.Run(name, func(t *testing.T) {
			if d := openDamaged(t, []byte(content), nil, nil); !d.noticed {
				t.Error("nothing was said")
			}
		})
	}
}

func TestTwoDamagedJournalsInASecondAreBothKept(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "journal.db")
	kept := make(map[string]bool)
	for _, text := range []string{"first damaged file", "second damaged file", "third damaged file"} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		j := open1(t, path)
		b, err := os.ReadFile(j.Asides()[0])
		if err != nil || string(b) != text {
			t.Fatalf("%q, %v", b, err)
		}
		kept[j.Asides()[0]] = true
		j.Close()
	}
	if len(kept) != 3 {
		t.Errorf("names used: %v", kept)
	}
}

// The file is damaged while the journal is open.
func TestDamageWhileOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	j := open1(t, path)
	fill(t, j, 20)
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteAt(bytes.Repeat([]byte{0xa5}, 8192), 0); err != nil {
		t.Fatal(err)
	}
	e, err := j.Add(entry(21))
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Asides()) != 1 {
		t.Error("nothing was said")
	}
	if all := read(t, j); all[len(all)-1].ID != e.ID {
		t.Error("the take just added is lost")
	}
}

// Check finds a damaged take in a journal too large to be checked by Open,
// whichever of its columns it is.
func TestCheckFindsWhatOpenDoesNotLookAt(t *testing.T) {
	for _, damage := range []string{
		`body = zeroblob(100)`, `id = 'x'`, `at = at + 1`, `mark = ''`, `mark = mark || ' '`, `mark = json_set(mark, '$.error_db', 9.5)`, `sum = sum + 1`,
	} {
		path := filepath.Join(memoryDir(t), "journal.db")
		j := open1(t, path)
		fill(t, j, 10)
		if _, err := j.db.Exec(`UPDATE take SET ` + damage + ` WHERE n = 4`); err != nil {
			t.Fatal(err)
		}
		if err := j.Check(t.Context()); err != nil {
			t.Fatal(err)
		}
		if a := j.Asides(); len(a) != 1 || len(read(t, j)) != 9 {
			t.Errorf("%s: set aside: %+v", damage, a)
		}
	}
}

func TestDamageIsNotTouchedWhenReading(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	j := open1(t, path)
	fill(t, j, 3)
	if _, err := j.db.Exec(`UPDATE take SET sum = 0`); err != nil {
		t.Fatal(err)
	}
	j.Close()
	r, err := OpenReadOnly(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for _, err := range r.All() {
		if err == nil || !strings.Contains(err.Error(), "damaged") {
			t.Errorf("reading: %v", err)
		}
	}
	if len(r.Asides()) > 0 {
		t.Error("it was set aside")
	}
}

// FuzzImport: whatever a file holds, an import adds whole takes or nothing, and
// says so in one sentence.
func FuzzImport(f *testing.F) {
	j, err := Open(filepath.Join(memoryDir(f), "journal.db"))
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { j.Close() })
	if _, err := j.Add(entry(1)); err != nil {
		f.Fatal(err)
	}
	var lines, table bytes.Buffer
	if err := errors.Join(j.ExportJSON(&lines), j.ExportCSV(&table)); err != nil {
		f.Fatal(err)
	}
	f.Add(lines.Bytes())
	f.Add(table.Bytes())
	f.Add([]byte("\xef\xbb\xbf{\"when\":\"2026-01-01T00:00:00Z\",\"drill\":\"x\",\"seed\":\"1\"}"))
	f.Add([]byte("id,when\n\"a"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if err := j.ForgetAll(); err != nil {
			t.Fatal(err)
		}
		got, err := j.Import(bytes.NewReader(b))
		marks, readErr := j.Marks()
		if readErr != nil || len(marks) != got.Added || err != nil && got.Added > 0 {
			t.Fatalf("%+v, %v; %d marks, %v", got, err, len(marks), readErr)
		}
		if err != nil && !strings.HasPrefix(err.Error(), "journal: importing: ") {
			t.Fatal(err)
		}
		var again bytes.Buffer
		if err := j.ExportJSON(&again); err != nil {
			t.Fatal(err)
		}
		if twice, err := j.Import(&again); err != nil || twice.Added != 0 || twice.Known != got.Added {
			t.Fatalf("what was imported does not come back: %+v, %v", twice, err)
		}
	})
}

func FuzzDamage(f *testing.F) {
	content, _, original := sample(f, 5, 5)
	f.Add(uint16(0), []byte("x"))
	f.Add(uint16(4096), []byte{0, 0, 0, 0})
	f.Add(uint16(60), []byte{9})
	f.Fuzz(func(t *testing.T, at uint16, bad []byte) {
		b := bytes.Clone(content)
		copy(b[int(at)%len(b):], bad)
		openDamaged(t, b, nil, original)
	})
}
