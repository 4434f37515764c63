package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

// test passes everything that a change must pass: the checks, the builds for
// other systems, and all tests with a display and the reference programs. On
// Windows and macOS, where those are not installed, the tests are those of
// rooms that need nothing but Go.
func test(flags []string) error {
	began := time.Now()
	ctx, done := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer done()
	if runtime.GOOS == "linux" {
		if err := installMissing(packagesToTest()); err != nil {
			return err
		}
		if err := installPageChecker(); err != nil {
			return err
		}
	}
	stop, err := virtualDisplay()
	if err != nil {
		return err
	}
	defer stop()
	checks := checks()
	tests, err := tests(flags)
	if err != nil {
		return err
	}
	defer func() {
		fmt.Println("start: time and processor time of each part, in seconds")
		for _, p := range slices.Concat(slices.Concat(checks...), tests) {
			fmt.Printf("%7.1f %7.1f  %s\n", p.took.Seconds(), p.processor.Seconds(), p.what)
		}
		fmt.Printf("%7.1f          in all\n", time.Since(began).Seconds())
	}()
	if err := pass(ctx, checks); err != nil {
		return err
	}
	fmt.Println("start: the tests; all of them take some minutes")
	failed := make([]error, len(tests))
	var running sync.WaitGroup
	for i, p := range tests {
		running.Go(func() { failed[i] = p.run(ctx, os.Stdout) })
	}
	running.Wait()
	return errors.Join(failed...)
}

// part is a command that must succeed, with what it took.
type part struct {
	what            string
	env             []string
	args            []string
	silent          bool // what it prints is a complaint
	took, processor time.Duration
}

func (p *part) run(ctx context.Context, out io.Writer) error {
	c := exec.CommandContext(ctx, p.args[0], p.args[1:]...)
	c.Env = append(c.Environ(), p.env...)
	c.Stdout, c.Stderr = out, out
	c.WaitDelay = 5 * time.Second // for what a program that was ended leaves running
	began := time.Now()
	err := c.Run()
	p.took = time.Since(began)
	if c.ProcessState != nil {
		p.processor = c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	}
	return err
}

// pass runs rows of parts side by side, the parts of a row one after the other. The
// first that fails ends all.
func pass(ctx context.Context, rows [][]*part) error {
	ctx, fail := context.WithCancelCause(ctx)
	defer fail(nil)
	var running sync.WaitGroup
	for _, row := range rows {
		running.Go(func() {
			for _, p := range row {
				if ctx.Err() != nil {
					return
				}
				var printed bytes.Buffer
				err := p.run(ctx, &printed)
				if ctx.Err() != nil {
					return // another has failed, and ended this one
				}
				if err == nil && p.silent && printed.Len() > 0 {
					err = errors.New("it complains")
				}
				fmt.Printf("%sstart: %s, %.1f s\n", printed.Bytes(), p.what, p.took.Seconds())
				if err != nil {
					fail(fmt.Errorf("%s: %v; see above", p.what, err))
				}
			}
		})
	}
	running.Wait()
	return context.Cause(ctx)
}

// checks are what is passed before the tests, in two rows that keep two processors busy.
func checks() [][]*part {
	rows := [][]*part{{
		{what: "gofmt", args: []string{"gofmt", "-l", "."}, silent: true},
		{what: "go vet", args: []string{"go", "vet", "./..."}},
		{what: "staticcheck", args: []string{"go", "tool", "staticcheck", "./..."}},
	}, nil}
	// The window needs a C compiler on Linux and macOS; on Windows and in the
	// browser it builds without, as the command for teachers does everywhere.
	vet, build := "go vet", "go build -o "+os.DevNull
	for _, b := range []struct{ system, arch, command, what string }{
		{"js", "wasm", vet, "./cmd/slowneedle ./cmd/slowneedle/options ./game ./assets ./drills/... ./audio/..."},
		{"linux", "arm64", build, "./cmd/markbook"},
		{"darwin", "arm64", build, "./cmd/markbook ./audio/output"},
		{"windows", "amd64", build, "./cmd/markbook ./cmd/slowneedle"},
	} {
		rows[1] = append(rows[1], &part{
			what: fmt.Sprintf("%s/%s: %s %s", b.system, b.arch, b.command, b.what),
			env:  []string{"GOOS=" + b.system, "GOARCH=" + b.arch, "CGO_ENABLED=0"},
			args: append(strings.Fields(b.command), strings.Fields(b.what)...),
		})
	}
	if runtime.GOOS != "linux" { // there its tests build it
		rows[1] = append(rows[1], &part{what: "the browser edition", args: []string{"go", "run", "./cmd/start", "web"}})
	}
	return rows
}

// waiting are the rooms whose tests wait for a window, a browser or a sound device most
// of the time.
var waiting = []string{"slowneedle/game/window", "slowneedle/cmd/slowneedle/browser", "slowneedle/audio/output", "slowneedle/audio/input"}

// tests are the tests of all rooms, in two parts that run side by side: those that
// wait, one room at a time, and those that compute. The latter have lower priority, so
// that the others find a processor whenever they need one, and none is ever idle. go
// vet has passed by then.
func tests(flags []string) ([]*part, error) {
	run := func(rooms []string, more ...string) []string {
		return slices.Concat([]string{"go", "test", "-vet=off", "-timeout", "40m"}, more, flags, rooms)
	}
	if runtime.GOOS != "linux" {
		rooms, err := plainRooms()
		return []*part{{what: "tests of rooms that need nothing but Go", args: run(rooms)}}, err
	}
	list, err := output("go", "list", "./...")
	if err != nil {
		return nil, err
	}
	rooms := slices.DeleteFunc(strings.Fields(list), func(room string) bool { return slices.Contains(waiting, room) })
	return []*part{
		{what: "tests that wait", args: run(waiting, "-p", "1")},
		{what: "tests that compute", args: slices.Concat([]string{"nice"}, run(rooms))},
	}, nil
}

// needMore is what tests contain that need a display, a sound server or another program.
var needMore = regexp.MustCompile(`exec\.(Command|LookPath)|nullsink|display/checked`)

// plainRooms returns those whose tests need nothing but Go.
func plainRooms() (rooms []string, err error) {
	files, err := output("git", "ls-files", "*_test.go")
	if err != nil {
		return nil, fmt.Errorf("%w; run this in a clone of the project", err)
	}
	plain := make(map[string]bool)
	for path := range strings.FieldsSeq(files) {
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
