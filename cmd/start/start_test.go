package main

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The exact command is printed where apt-get may not be called.
func TestAptCommand(t *testing.T) {
	yes, no := func() bool { return true }, func() bool { return false }
	for _, c := range []struct {
		name string
		root bool
		sudo func() bool
		want string
	}{
		{"root", true, no, "apt-get"},
		{"sudo without a password", false, yes, "sudo -n apt-get"},
		{"neither", false, no, ""},
	} {
		if got := strings.Join(aptCommand(c.root, c.sudo), " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// What dpkg knows as installed is not missing: not what it does not know, and not what
// it once had. A part of a package's name is not the package.
func TestMissing(t *testing.T) {
	bin := t.TempDir()
	script := "#!/bin/sh\necho gcc installed; echo sox config-files; echo libgcc installed; exit 1\n"
	if err := os.WriteFile(filepath.Join(bin, "dpkg-query"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", bin+string(os.PathListSeparator)+os.Getenv("PATH"))
	if got := missingFrom([]string{"gcc", "xvfb", "sox", "cc"}); !slices.Equal(got, []string{"xvfb", "sox", "cc"}) {
		t.Errorf("missing: %q", got)
	}
}

func TestHelp(t *testing.T) {
	out := command(t, ".", "go", "run", ".", "--help")
	for _, sub := range []string{"test", "web", "release", "speed"} {
		if !strings.Contains(out, "./cmd/start "+sub) {
			t.Errorf("the help does not name %s:\n%s", sub, out)
		}
	}
}

// A subcommand misspelt is refused; it does not open the trainer.
func TestMisspeltSubcommand(t *testing.T) {
	inProject(t)
	err := run([]string{"relase"})
	if err == nil {
		t.Fatal("it was accepted")
	}
	for _, want := range []string{"relase", "test", "web", "release", "speed", "help"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not name %s", err, want)
		}
	}
}

// A licence may lie in a linked package's folder, but the module must have one itself.
func TestLicencesOfAModule(t *testing.T) {
	root := t.TempDir()
	inside := filepath.Join(root, "a", "b")
	if err := os.MkdirAll(inside, 0o755); err != nil {
		t.Fatal(err)
	}
	put := func(dir, name string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put(inside, "NOTICE")
	if err := licences(map[string]string{}, "m@v1", root, inside); err == nil || !strings.Contains(err.Error(), "m@v1") {
		t.Errorf("no licence: %v", err)
	}
	put(root, "LICENSE")
	put(root, "licence.go")
	found := map[string]string{}
	for range 2 { // two packages of one module
		if err := licences(found, "m@v1", root, inside); err != nil {
			t.Fatal(err)
		}
	}
	if len(found) != 2 || found["m@v1/LICENSE"] == "" || found["m@v1/a/b/NOTICE"] == "" {
		t.Errorf("found %v", found)
	}
}

func TestFreeAddress(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if a := freeAddress(l.Addr().String()); a != "127.0.0.1:0" {
		t.Errorf("where somebody listens: %s", a)
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

// What is tested on systems without the reference programs needs none of them.
func TestPlainRooms(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(root)
	rooms, err := plainRooms()
	if err != nil {
		t.Fatal(err)
	}
	for room, want := range map[string]bool{"./drills/progress": true, "./drills/class/roster": true, "./audio/medium": true,
		"./game/window": false, "./audio/output": false, "./audio/meter": false, "./cmd/start": false, "./drills/class/sheet": false} {
		if slices.Contains(rooms, room) != want {
			t.Errorf("%s needs nothing but Go: %v; rooms %v", room, !want, rooms)
		}
	}
}
