package main

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
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

func TestMissing(t *testing.T) {
	here := func(p string) bool { return p == "gcc" || p == "sox" }
	if got := missingFrom([]string{"gcc", "xvfb", "sox", "ffmpeg"}, here); !slices.Equal(got, []string{"xvfb", "ffmpeg"}) {
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

func TestGoWithoutItsLicence(t *testing.T) {
	root := t.TempDir()
	if err := licencesOfGo(map[string]string{}, root); err == nil || !strings.Contains(err.Error(), root) {
		t.Errorf("no licence: %v", err)
	}
	if err := os.WriteFile(filepath.Join(root, "LICENSE"), []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	if err := licencesOfGo(found, root); err != nil || len(found) != 1 {
		t.Errorf("with one: %d files, %v", len(found), err)
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

// What the workflows run is what the documents tell people to run.
func TestWorkflows(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(root, ".github", "workflows", "*.yml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("workflows: %v, %v", files, err)
	}
	run := regexp.MustCompile(`(?m)^ *-? *run: (.+)$`)
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		lines := run.FindAllStringSubmatch(string(text), -1)
		if len(lines) == 0 {
			t.Errorf("%s runs nothing", path)
		}
		for _, m := range lines {
			try(t, root, root, "", m[1])
		}
	}
}
