package main

import (
	"archive/zip"
	"bytes"
	"debug/pe"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

// inProject makes the project's folder the working folder, as run does.
func inProject(t *testing.T) {
	t.Helper()
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(root)
}

// testMaker packs a stand-in for the browser edition, so that nothing large is
// built.
func testMaker(t *testing.T) maker {
	t.Helper()
	m := maker{version: "1.2.3-test", when: time.Unix(1700000000, 0).UTC(), work: t.TempDir(), out: t.TempDir(), web: t.TempDir()}
	for name, text := range map[string]string{"index.html": "<!doctype html>", "slowneedle.wasm": "program"} {
		if err := os.WriteFile(filepath.Join(m.web, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return m
}

// Packages of the same content are the same, whatever order it comes in, and every
// folder can be entered once it is unpacked.
func TestReproducible(t *testing.T) {
	made := func(names ...string) archive {
		a := archive{top: "x-1", when: time.Unix(1700000000, 0).UTC(), files: fstest.MapFS{}}
		for _, n := range names {
			if err := a.add(n, programFile, []byte("content of "+n)); err != nil {
				t.Fatal(err)
			}
		}
		return a
	}
	a, b := made("b", "a/z", "c"), made("c", "b", "a/z")
	for name, write := range map[string]func(archive, io.Writer) error{"tar": archive.tar, "zip": archive.zip} {
		var x, y bytes.Buffer
		if err := write(a, &x); err != nil {
			t.Fatal(err)
		}
		if err := write(b, &y); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(x.Bytes(), y.Bytes()) {
			t.Errorf("%s: the order of the files shows", name)
		}
	}
	if err := a.add("b", plainFile, nil); err == nil {
		t.Error("a file that is there twice is packed")
	}
	for _, dir := range []string{"x-1", "x-1/a"} {
		if info, err := a.files.Stat(dir); err != nil || info.Mode() != fs.ModeDir|0o755 || !info.ModTime().Equal(a.when) {
			t.Errorf("%s: %v, %v", dir, info, err)
		}
	}
}

// What is zipped for Windows is a 64-bit program for it.
func TestWindowsZip(t *testing.T) {
	inProject(t)
	m := testMaker(t)
	windows := target{"windows", "amd64"}
	a := m.archive(windows)
	if err := m.program(a, built{windows, "./cmd/markbook"}); err != nil {
		t.Fatal(err)
	}
	if err := m.pack(windows, a); err != nil {
		t.Fatal(err)
	}
	z, err := zip.OpenReader(filepath.Join(m.out, "slowneedle-1.2.3-test-windows-amd64.zip"))
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	f, err := z.Open("slowneedle-1.2.3-test-windows-amd64/markbook.exe")
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	p, err := pe.NewFile(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if p.Machine != pe.IMAGE_FILE_MACHINE_AMD64 {
		t.Errorf("machine %#x, want amd64", p.Machine)
	}
}

// The licences of the window's modules are there for every system, and those
// of modules that only tests and tools use are not.
func TestLicences(t *testing.T) {
	inProject(t)
	for _, c := range []struct {
		t          target
		want, lack string
	}{
		{target{"windows", "amd64"}, "hajimehoshi/ebiten", "jezek/xgb"},
		{browser, "hajimehoshi/oto", "modernc.org/sqlite"},
	} {
		a := archive{files: fstest.MapFS{}}
		if err := a.addLicences(built{c.t, "./cmd/slowneedle"}); err != nil {
			t.Fatal(err)
		}
		about := string(a.files["licences/MODULES.txt"].Data)
		if !strings.Contains(about, c.want) {
			t.Errorf("%s: no licence of %s:\n%s", c.t.system, c.want, about)
		}
		for _, lack := range []string{c.lack, "staticcheck", "honnef.co", "chromedp", "testscript"} {
			if strings.Contains(about, lack) {
				t.Errorf("%s: a licence of %s, which is not linked:\n%s", c.t.system, lack, about)
			}
		}
	}
}

func TestTargets(t *testing.T) {
	for _, c := range []struct{ system, want string }{
		{"linux", "linux windows js"},
		{"darwin", "darwin windows js"},
		{"windows", "windows js"},
	} {
		var got []string
		for _, one := range targets(c.system, "arm64") {
			got = append(got, one.system)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("on %s: %v, want %s", c.system, got, c.want)
		}
	}
}

// The window is built with a C compiler where it needs one; what is for teachers never.
func TestCompiler(t *testing.T) {
	for _, c := range []struct{ system, command, want string }{
		{"linux", "./cmd/slowneedle", "1"}, {"darwin", "./cmd/slowneedle", "1"}, {"windows", "./cmd/slowneedle", "0"},
		{"js", "./cmd/slowneedle", "0"}, {"linux", "./cmd/markbook", "0"}, {"darwin", "./cmd/markbook", "0"},
	} {
		if env := (target{c.system, "amd64"}).env(c.command); !slices.Contains(env, "CGO_ENABLED="+c.want) || !slices.Contains(env, "GOOS="+c.system) {
			t.Errorf("%s for %s: %v", c.command, c.system, env)
		}
	}
}

// Packages are dated as reproducible-builds.org has it.
func TestSourceTime(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1700000000")
	if when, err := sourceTime(); err != nil || when.Format(time.RFC3339) != "2023-11-14T22:13:20Z" {
		t.Errorf("%v, %v", when, err)
	}
	t.Setenv("SOURCE_DATE_EPOCH", "today")
	if when, err := sourceTime(); err == nil {
		t.Errorf("today is %v", when)
	}
	t.Setenv("SOURCE_DATE_EPOCH", "")
	t.Setenv("GIT_DIR", t.TempDir()) // no clone
	if when, err := sourceTime(); err != nil || when.Year() != 1980 {
		t.Errorf("outside a clone: %v, %v", when, err)
	}
	if v := sourceVersion(); v != "dev" {
		t.Errorf("outside a clone the version is %q", v)
	}
}

// The page is told how long the program is.
func TestTellLength(t *testing.T) {
	page, err := os.ReadFile("../../assets/web/index.html")
	if err != nil {
		t.Fatal(err)
	}
	told, err := tellLength(page, 12345)
	if err != nil || !bytes.Contains(told, []byte(`data-bytes="12345"`)) || len(told) != len(page)+4 {
		t.Errorf("%v in\n%s", err, told)
	}
	if _, err := tellLength(told, 1); err == nil {
		t.Error("a page without a place for it is accepted")
	}
}

func TestVersionForm(t *testing.T) {
	for v, ok := range map[string]bool{
		"1.2.0": true, "v1.2.0-3-gabc": true, "dev": true, "1.0+debian": true,
		"": false, "-X": false, "a b": false, "../x": false, "1/2": false, strings.Repeat("1", 65): false,
	} {
		if err := checkVersion(v); (err == nil) != ok {
			t.Errorf("version %q: %v", v, err)
		}
	}
}
