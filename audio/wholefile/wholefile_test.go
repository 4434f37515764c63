//go:build !js

package wholefile

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// only checks that a folder holds one file, of this content.
func only(t *testing.T, dir, name, content string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil || len(list) != 1 || list[0].Name() != name {
		t.Fatalf("the folder holds %v, %v; want %s alone", list, err, name)
	}
	if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != content {
		t.Fatalf("%s holds %q, %v; want %q", name, got, err, content)
	}
}

func TestWriteReplacesTheWholeFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "sheet.json")
	for _, content := range []string{"a longer first text", "second"} {
		if err := WriteBytes(path, 0o644, []byte(content)); err != nil {
			t.Fatal(err)
		}
		only(t, dir, "sheet.json", content)
	}
}

func TestNothingIsSeenUntilTheEnd(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "sheet.json")
	if err := WriteBytes(path, 0o644, []byte("before")); err != nil {
		t.Fatal(err)
	}
	err := Write(path, 0o644, func(w io.Writer) error {
		if _, err := w.Write(make([]byte, 1<<20)); err != nil {
			return err
		}
		got, err := os.ReadFile(path)
		if string(got) != "before" {
			t.Errorf("while it is written %d bytes are there", len(got))
		}
		return errors.Join(err, fs.ErrInvalid)
	})
	if !errors.Is(err, fs.ErrInvalid) {
		t.Errorf("Write: %v", err)
	}
	only(t, dir, "sheet.json", "before")
}

func TestAbort(t *testing.T) {
	dir := t.TempDir()
	f, err := Create(filepath.Join(dir, "take.wav"), 0o644)
	if err != nil {
		t.Fatal(err)
	}
	f.Abort()
	if list, _ := os.ReadDir(dir); len(list) != 0 {
		t.Errorf("left: %v", list)
	}
	if f, err = Create(filepath.Join(dir, "take.wav"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	f.Abort() // too late
	only(t, dir, "take.wav", "")
}

// A file that others collect can be read by them, one that is private cannot.
func TestPermissions(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // permissions are inherited from the folder there
	}
	umask := filepath.Join(t.TempDir(), "plain")
	if err := os.WriteFile(umask, nil, 0o644); err != nil { // the system's own answer
		t.Fatal(err)
	}
	info, err := os.Stat(umask)
	if err != nil {
		t.Fatal(err)
	}
	for perm, want := range map[fs.FileMode]fs.FileMode{0o644: info.Mode(), 0o600: 0o600} {
		path := filepath.Join(t.TempDir(), "file")
		if err := WriteBytes(path, perm, nil); err != nil {
			t.Fatal(err)
		}
		if info, err := os.Stat(path); err != nil || info.Mode() != want {
			t.Errorf("asked for %v: mode %v, %v; want %v", perm, info.Mode(), err, want)
		}
	}
}

func TestALinkIsWrittenThrough(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	target, link := filepath.Join(elsewhere, "real.json"), filepath.Join(dir, "link.json")
	if err := os.WriteFile(target, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, link); err != nil {
		t.Fatal(err)
	}
	if err := WriteBytes(link, 0o644, []byte("new")); err != nil {
		t.Fatal(err)
	}
	only(t, elsewhere, "real.json", "new")
	if info, err := os.Lstat(link); err != nil || info.Mode().Type() != fs.ModeSymlink {
		t.Errorf("the link became %v, %v", info.Mode(), err)
	}
}

func TestWhatIsNoFileIsNotReplaced(t *testing.T) {
	if err := WriteBytes(t.TempDir(), 0o644, []byte("x")); !errors.Is(err, ErrNotRegular) {
		t.Errorf("a folder: %v", err)
	}
	if err := WriteBytes(os.DevNull, 0o644, []byte("x")); !errors.Is(err, ErrNotRegular) {
		t.Errorf("a device: %v", err)
	}
	if err := WriteBytes(filepath.Join(t.TempDir(), "none", "file"), 0o644, nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no folder: %v", err)
	}
}
