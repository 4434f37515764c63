// Command start sets a fresh machine up and gets going: go run ./cmd/start help says
// what it can do. What the machine lacks is installed with apt-get where that is
// allowed; otherwise the exact command is printed and nothing is changed. It uses the
// standard library only, so it runs before anything else is there.
package main

import (
	"errors"
	"fmt"
	"net"
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
	fmt.Println("start: building the trainer; the first build takes a minute or two")
	return buildAndRun("slowneedle", args...)
}

// serve builds the browser edition and serves it to this machine alone; the
// server prints its address and ends with an interrupt.
func serve() error {
	fmt.Println("start: building the browser edition; the first build takes a minute or two")
	if err := buildWeb(webFolder, ""); err != nil {
		return err
	}
	// A folder of its own each time; what is handed in stays there, as the server tells at the end.
	data, err := os.MkdirTemp("", "slowneedle-class-")
	if err != nil {
		return err
	}
	fmt.Println("start: open the address of the learners below in a browser on this machine")
	return buildAndRun("markbook", "serve", "--listen", freeAddress("127.0.0.1:8410"), "--data", data, "--app", webFolder)
}

// freeAddress is the address if nobody listens there, otherwise one whose port
// the system picks.
func freeAddress(address string) string {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return "127.0.0.1:0"
	}
	l.Close()
	return address
}

// buildAndRun builds one of the commands into bin and runs it. go run would end without
// it when it is asked to.
func buildAndRun(command string, args ...string) error {
	program := filepath.Join("bin", command)
	if runtime.GOOS == "windows" {
		program += ".exe"
	}
	if err := show("go", "build", "-o", program, "./cmd/"+command); err != nil {
		return err
	}
	return show(filepath.Join(".", program), args...)
}

// moduleRoot is the folder of this module's go.mod, so that the commands work
// from anywhere inside it.
func moduleRoot() (string, error) {
	mod, err := output("go", "env", "GOMOD")
	if err != nil {
		return "", err
	}
	if filepath.Base(mod) != "go.mod" {
		return "", errors.New("run this inside the project's folder, where go.mod is")
	}
	return filepath.Dir(mod), nil
}

// output runs a program and returns what it prints, without the space around it.
func output(name string, args ...string) (string, error) {
	var complaints strings.Builder
	c := exec.Command(name, args...)
	c.Stderr = &complaints
	out, err := c.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %v: %s", name, strings.Join(args, " "), err, strings.TrimSpace(complaints.String()))
	}
	return strings.TrimSpace(string(out)), nil
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
