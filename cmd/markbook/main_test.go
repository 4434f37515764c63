package main

import (
	"errors"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"markbook": main})
}

// The scripts call the command as a teacher does. In them "! markbook" only
// says that it failed; "status N markbook ARGS" says with what.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"status": status},
	})
}

// status runs a program and checks its exit status.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N PROGRAM ARGS...")
	}
	want := args[0]
	err := ts.Exec(args[1], args[2:]...)
	got := "0"
	if err != nil {
		got = exitStatus(err)
	}
	if got != want {
		ts.Fatalf("exit status %s, want %s (%v)", got, want, err)
	}
}

func exitStatus(err error) string {
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return strconv.Itoa(exit.ExitCode())
	}
	return err.Error()
}
