package journal

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

func init() {
	tasks["fill the disk"] = fillTheDisk
	tasks["without permission"] = withoutPermission
}

// child runs a task in a process of its own and returns what it said.
func child(t *testing.T, task, path string, base int) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), childTask+"="+task, childPath+"="+path, childBase+"="+strconv.Itoa(base))
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", task, err, complaint.String())
	}
	return string(out)
}

// The file may not grow any further: the take is refused with a clear error,
// what was there is whole, and once there is room again the same take is kept.
func TestDiskFull(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	open1(t, path).Close()
	out := child(t, "fill the disk", path, 0)
	stored := strings.Count(out, "stored\n")
	if stored < 5 || !strings.HasSuffix(out, "refused\nstored after all\n") {
		t.Fatalf("it went otherwise:\n%s", out)
	}
	j := open1(t, path)
	if n := len(read(t, j)); n != stored+1 || len(j.Asides()) > 0 {
		t.Errorf("%d takes, want %d; set aside: %v", n, stored+1, j.Asides())
	}
}

func fillTheDisk(path string, _ int) error {
	signal.Ignore(syscall.SIGXFSZ) // the write fails instead, as on a full disk
	j, err := Open(path)
	if err != nil {
		return err
	}
	defer j.Close()
	var free, tight syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &free); err != nil {
		return err
	}
	tight = free
	tight.Cur = 100 << 10
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &tight); err != nil {
		return err
	}
	for i := 0; ; i++ {
		_, err := j.Add(entry(i))
		if err == nil {
			fmt.Println("stored")
			continue
		}
		if !strings.Contains(err.Error(), "the disk") || strings.Contains(err.Error(), "\n") {
			return fmt.Errorf("not a clear sentence: %w", err)
		}
		n := 0
		for _, err := range j.All() {
			if err != nil {
				return err
			}
			n++
		}
		if n != i {
			return fmt.Errorf("%d takes after %d were stored", n, i)
		}
		fmt.Println("refused")
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &free); err != nil {
			return err
		}
		if _, err := j.Add(entry(i)); err != nil {
			return err
		}
		fmt.Println("stored after all")
		return nil
	}
}

// SQLite's own answer to a full disk is ErrFull.
func TestDatabaseFull(t *testing.T) {
	j := open1(t, filepath.Join(t.TempDir(), "journal.db"))
	fill(t, j, 3)
	if _, err := j.db.Exec(`PRAGMA max_page_count = 20`); err != nil {
		t.Fatal(err)
	}
	var err error
	n := 3
	for ; err == nil; n++ {
		_, err = j.Add(entry(n))
	}
	if !errors.Is(err, ErrFull) || !strings.Contains(err.Error(), "the disk is full") {
		t.Errorf("Add: %v, want ErrFull", err)
	}
	if got := len(read(t, j)); got != n-1 {
		t.Errorf("%d takes, want %d", got, n-1)
	}
	if err := j.Check(t.Context()); err != nil || len(j.Asides()) > 0 {
		t.Errorf("Check: %v, %v", err, j.Asides())
	}
}

// Folders and files that may not be written, as an ordinary user sees them.
func TestNoPermission(t *testing.T) {
	dir := t.TempDir()
	locked := filepath.Join(dir, "locked", "journal.db")
	open1(t, locked).Close()
	if err := os.WriteFile(filepath.Join(dir, "file"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{filepath.Dir(dir), dir} {
		if err := os.Chmod(p, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(os.Chmod(locked, 0o444), os.Chmod(locked+".lock", 0o444), os.Chmod(filepath.Dir(locked), 0o555)); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(locked)
	if err != nil {
		t.Fatal(err)
	}
	if out := child(t, "without permission", dir, 0); out != "as it should\n" {
		t.Error(out)
	}
	if after, err := os.ReadFile(locked); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the file was changed: %v", err)
	}
	if err := os.Chmod(filepath.Dir(locked), 0o755); err != nil { // so that it can be removed
		t.Fatal(err)
	}
}

func withoutPermission(dir string, _ int) error {
	if os.Getuid() == 0 { // root may write everything
		if err := errors.Join(syscall.Setgid(65534), syscall.Setuid(65534)); err != nil {
			return err
		}
	}
	for _, path := range []string{
		filepath.Join(dir, "locked", "journal.db"),
		filepath.Join(dir, "locked", "new", "journal.db"),
		filepath.Join(dir, "file", "journal.db"),
		"/proc/self/nowhere/journal.db",
	} {
		j, err := Open(path)
		if err == nil {
			j.Close()
			return fmt.Errorf("%s opened", path)
		}
		if strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), "journal: ") || errors.Is(err, ErrInUse) {
			return fmt.Errorf("not a clear sentence: %w", err)
		}
	}
	r, err := OpenReadOnly(filepath.Join(dir, "locked", "journal.db"))
	if err != nil {
		return err
	}
	defer r.Close()
	if _, err := r.Marks(); err != nil {
		return err
	}
	fmt.Println("as it should")
	return nil
}
