package main

import (
	"archive/zip"
	"bytes"
	"debug/pe"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
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

// The tar as another program unpacks it: everything in one folder, the sums
// right, the command for teachers runs, says its version and finds the browser
// edition beside it. The window is left out: it takes minutes to build.
func TestTar(t *testing.T) {
	inProject(t)
	m := testMaker(t)
	host := target{runtime.GOOS, runtime.GOARCH, true, false}
	files, err := texts()
	if err != nil {
		t.Fatal(err)
	}
	page, err := folder(m.web, "web")
	if err != nil {
		t.Fatal(err)
	}
	programs, err := m.programs(host, []string{"./cmd/markbook"})
	if err != nil {
		t.Fatal(err)
	}
	licences, err := licencesOf(linked{host.env(), []string{"./cmd/markbook"}})
	if err != nil {
		t.Fatal(err)
	}
	files = append(append(append(files, page...), programs...), licences...)
	if err := m.archive(host, files); err != nil {
		t.Fatal(err)
	}
	if err := writeSums(m.out); err != nil {
		t.Fatal(err)
	}
	command(t, m.out, "sha256sum", "-c", "SHA256SUMS")

	name := "slowneedle-1.2.3-test-" + host.system + "-" + host.arch
	list := command(t, m.out, "tar", "-tzf", name+".tar.gz")
	for _, want := range []string{
		"README.md", "LICENSE", "markbook", "web/index.html", "web/slowneedle.wasm", "guide/learners.md", "guide/round.png",
		"licences/MODULES.txt", "licences/go/LICENSE", "licences/github.com/alecthomas/kong@v1.17.0/COPYING",
	} {
		if !strings.Contains(list, name+"/"+want+"\n") {
			t.Errorf("the package lacks %s:\n%s", want, list)
		}
	}
	if strings.Contains(list, "ebiten") {
		t.Errorf("markbook does not open windows, yet the licences say so:\n%s", list)
	}
	command(t, m.out, "tar", "-xzf", name+".tar.gz")
	in := filepath.Join(m.out, name)
	if got := command(t, in, "./markbook", "--version"); got != "markbook 1.2.3-test\n" {
		t.Errorf("markbook --version: %q", got)
	}
	if got := command(t, in, "./markbook", "round", "--seed", "1"); !strings.Contains(got, "aim") {
		t.Errorf("markbook round: %q", got)
	}
	readme, err := os.ReadFile(filepath.Join(in, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(readme, []byte("assets/guide")) {
		t.Error("the packed readme points to guides that are not there")
	}
}

// Packages of the same content are the same, whatever order it comes in.
func TestReproducible(t *testing.T) {
	a := archive{top: "x-1", when: time.Unix(1700000000, 0).UTC(), entries: []entry{
		{name: "b", data: []byte("two")}, {name: "a/z", data: []byte("one"), program: true}, {name: "c", data: nil}}}
	b := a
	b.entries = []entry{a.entries[2], a.entries[0], a.entries[1]}
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
	a.entries = append(a.entries, entry{name: "b"})
	if err := a.tar(io.Discard); err == nil {
		t.Error("a file that is there twice is packed")
	}
}

// What is zipped for Windows is a 64-bit program for it.
func TestWindowsZip(t *testing.T) {
	inProject(t)
	m := testMaker(t)
	windows := target{"windows", "amd64", true, false}
	programs, err := m.programs(windows, []string{"./cmd/markbook"})
	if err != nil {
		t.Fatal(err)
	}
	if err := m.archive(windows, programs); err != nil {
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
		{target{"windows", "amd64", true, false}, "hajimehoshi/ebiten", "jezek/xgb"},
		{target{"js", "wasm", false, false}, "hajimehoshi/oto", "modernc.org/sqlite"},
	} {
		list, err := licencesOf(linked{c.t.env(), []string{"./cmd/slowneedle"}})
		if err != nil {
			t.Fatal(err)
		}
		about := string(list[0].data)
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

// command runs a program in a folder and returns what it prints.
func command(t *testing.T, dir, name string, args ...string) string {
	t.Helper()
	c := exec.Command(name, args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}
