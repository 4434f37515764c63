// Command start sets a fresh machine up and gets going:
//
//	go run ./cmd/start [FILE.wav]       opens the trainer
//	go run ./cmd/start test [FLAG ...]  runs every test; flags go to go test
//	go run ./cmd/start web              builds the browser edition into dist/web
//	go run ./cmd/start release          packs what is handed out into dist/release
//	go run ./cmd/start speed            measures the speed that is promised
//
// Without a display the first serves the browser edition to this machine.
// What the machine lacks is installed with apt-get where that is allowed;
// otherwise the exact command is printed and nothing is changed. It uses the
// standard library only, so it runs before anything else is there.
package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	"slowneedle/game/display"
)

const usage = `usage, inside the project's folder:

  go run ./cmd/start [FILE.wav]             open the trainer; without a display serve the browser edition
  go run ./cmd/start test [FLAG ...]        run every test; flags go to go test
  go run ./cmd/start web                    build the browser edition into dist/web
  go run ./cmd/start release [-version V]   build the release packages in dist/release
  go run ./cmd/start speed                  measure speed against the budgets
`

func main() {
	err := run(os.Args[1:])
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) && exit.ExitCode() > 0 {
		// The program that was run has said what was wrong.
		os.Exit(exit.ExitCode())
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "start:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	root, err := moduleRoot()
	if err != nil {
		return err
	}
	if err := os.Chdir(root); err != nil {
		return fmt.Errorf("going to the project's folder: %w", err)
	}
	if len(args) > 0 {
		switch args[0] {
		case "help", "-h", "-help", "--help":
			fmt.Print(usage)
			return nil
		case "test":
			return test(args[1:])
		case "web":
			return buildWeb(webFolder, "")
		case "release":
			return release(args[1:])
		case "speed":
			return speed(args[1:])
		}
	}
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		if _, err := os.Stat(args[0]); err != nil {
			return fmt.Errorf("%q is neither a file here nor one of: test, web, release, speed, help", args[0])
		}
	}
	return open(args)
}

// open builds and opens the trainer, or serves the browser edition where there
// is no display.
func open(args []string) error {
	if !display.Answers() {
		fmt.Println("start: this machine has no display, so the window cannot open; the browser edition is served instead.")
		return serve()
	}
	if err := installMissing(packagesToBuild()); err != nil {
		return err
	}
	trainer := filepath.Join("bin", "slowneedle")
	if runtime.GOOS == "windows" {
		trainer += ".exe"
	}
	fmt.Println("start: building the trainer; the first build takes a minute or two")
	if err := show("go", "build", "-o", trainer, "./cmd/slowneedle"); err != nil {
		return err
	}
	return show(filepath.Join(".", trainer), args...)
}

// moduleRoot is the folder of this module's go.mod, so that the commands work
// from anywhere inside it.
func moduleRoot() (string, error) {
	out, err := exec.Command("go", "env", "GOMOD").Output()
	if err != nil {
		return "", fmt.Errorf("asking go for the project's folder: %w", err)
	}
	mod := filepath.Clean(string(trimmed(out)))
	if filepath.Base(mod) != "go.mod" {
		return "", errors.New("run this inside the project's folder, where go.mod is")
	}
	return filepath.Dir(mod), nil
}

func trimmed(b []byte) []byte {
	for len(b) > 0 && (b[len(b)-1] == '\n' || b[len(b)-1] == '\r') {
		b = b[:len(b)-1]
	}
	return b
}

// show runs a program with this terminal as its own. An interrupt from the
// keyboard reaches the program, which ends as it likes; a request to end is
// passed on to it.
func show(name string, args ...string) error {
	return showWith(nil, name, args...)
}

func showWith(env []string, name string, args ...string) error {
	c := exec.Command(name, args...)
	c.Stdin, c.Stdout, c.Stderr = os.Stdin, os.Stdout, os.Stderr
	c.Env = append(os.Environ(), env...)
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	defer close(signals)
	defer signal.Stop(signals)
	if err := c.Start(); err != nil {
		return err
	}
	go func() {
		for s := range signals {
			if s == syscall.SIGTERM {
				c.Process.Signal(s)
			}
		}
	}()
	return c.Wait()
}
