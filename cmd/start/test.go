package main

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"time"
)

// test passes everything that a change must pass: the checks, the builds for
// other systems, and all tests with a display and the reference programs. On
// Windows and macOS, where those are not installed, the tests are those of
// rooms that need nothing but Go.
func test(flags []string) error {
	rooms, err := plainRooms()
	if err != nil {
		return err
	}
	if runtime.GOOS == "linux" {
		rooms = []string{"./..."}
		if err := installMissing(packagesToTest()); err != nil {
			return err
		}
		if err := installPageChecker(); err != nil {
			return err
		}
	}
	parts := parts{began: time.Now()}
	defer parts.print()
	for _, c := range checks() {
		if err := parts.run(c.what, c.run); err != nil {
			return fmt.Errorf("%s: %w", c.what, err)
		}
	}
	var env []string
	if runtime.GOOS == "linux" {
		name, stop, err := virtualDisplay()
		if err != nil {
			return err
		}
		defer stop()
		env = append(env, "DISPLAY="+name)
	}
	return parts.run("the tests; all of them take some minutes", func() error {
		return showWith(env, "go", slices.Concat([]string{"test", "-timeout", "40m"}, flags, rooms)...)
	})
}

// needMore is what tests say that need a display, a sound server or another program.
var needMore = regexp.MustCompile(`exec\.(Command|LookPath)|nullsink|display/checked`)

// plainRooms returns those whose tests need nothing but Go.
func plainRooms() (rooms []string, err error) {
	files, err := exec.Command("git", "ls-files", "*_test.go").Output()
	if err != nil {
		return nil, errors.New("git could not list the tests; run this in a clone of the project")
	}
	plain := make(map[string]bool)
	for path := range strings.FieldsSeq(string(files)) {
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		room := "./" + filepath.ToSlash(filepath.Dir(path))
		before, seen := plain[room]
		plain[room] = (before || !seen) && !needMore.Match(text)
	}
	maps.DeleteFunc(plain, func(_ string, is bool) bool { return !is })
	return slices.Sorted(maps.Keys(plain)), nil
}

// parts are what was run, with how long each took.
type parts struct {
	began time.Time
	what  []string
	took  []time.Duration
}

// run runs a part and notes how long it took.
func (p *parts) run(what string, do func() error) error {
	fmt.Println("start:", what)
	began := time.Now()
	err := do()
	what, _, _ = strings.Cut(what, ";")
	p.what, p.took = append(p.what, what), append(p.took, time.Since(began))
	return err
}

// print writes how long each part took, and all of them.
func (p *parts) print() {
	for i, what := range p.what {
		fmt.Printf("%7.1f s  %s\n", p.took[i].Seconds(), what)
	}
	fmt.Printf("%7.1f s  in all\n", time.Since(p.began).Seconds())
}

type check struct {
	what string
	run  func() error
}

func checks() []check {
	list := []check{
		{"gofmt", formatted},
		{"go vet", func() error { return show("go", "vet", "./...") }},
		{"go vet for the browser", func() error { // what that edition is made of, tests included
			return showWith([]string{"GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0"},
				"go", "vet", "./cmd/slowneedle", "./cmd/slowneedle/options", "./game", "./assets", "./drills/...", "./audio/...")
		}},
		{"staticcheck", func() error { return show("go", "tool", "staticcheck", "./...") }},
	}
	// The window needs a C compiler on Linux and macOS; on Windows and in the
	// browser it builds without, as the command for teachers does everywhere.
	for _, b := range []struct{ system, arch, what string }{
		{"linux", "arm64", "./cmd/markbook"},
		{"darwin", "arm64", "./cmd/markbook"},
		{"darwin", "arm64", "./audio/output"},
		{"windows", "amd64", "./cmd/markbook"},
		{"windows", "amd64", "./cmd/slowneedle"},
		{"js", "wasm", "./cmd/slowneedle"},
	} {
		list = append(list, check{
			fmt.Sprintf("build %s for %s/%s", b.what, b.system, b.arch),
			func() error {
				return showWith([]string{"GOOS=" + b.system, "GOARCH=" + b.arch, "CGO_ENABLED=0"},
					"go", "build", "-o", os.DevNull, b.what)
			},
		})
	}
	return list
}

// formatted fails with the names of Go files that gofmt would change.
func formatted() error {
	files, err := exec.Command("git", "ls-files", "-co", "--exclude-standard", "*.go").Output()
	if err != nil {
		return errors.New("git could not list the Go files; run this in a clone of the project")
	}
	args := append([]string{"-l"}, strings.Fields(string(files))...)
	out, err := exec.Command("gofmt", args...).Output()
	if err != nil {
		return err
	}
	if out = bytes.TrimSpace(out); len(out) > 0 {
		return fmt.Errorf("run gofmt -w on %s", strings.Join(strings.Fields(string(out)), " "))
	}
	return nil
}
