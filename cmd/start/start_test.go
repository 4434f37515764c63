package main

import (
	"os/exec"
	"slices"
	"strings"
	"testing"
)

func TestXAddress(t *testing.T) {
	for _, c := range []struct {
		display, network, address string
		ok                        bool
	}{
		{":0", "unix", "/tmp/.X11-unix/X0", true},
		{":12.0", "unix", "/tmp/.X11-unix/X12", true},
		{"unix:3", "unix", "/tmp/.X11-unix/X3", true},
		{"desk:1.0", "tcp", "desk:6001", true},
		{"", "", "", false},
		{"wayland-0", "", "", false},
		{":x", "", "", false},
		{":-1", "", "", false},
	} {
		network, address, ok := xAddress(c.display)
		if network != c.network || address != c.address || ok != c.ok {
			t.Errorf("xAddress(%q) = %q, %q, %v; want %q, %q, %v", c.display, network, address, ok, c.network, c.address, c.ok)
		}
	}
}

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

// Without a display the first command says so in one sentence and plays a
// demonstration round to its verdict.
func TestNoDisplay(t *testing.T) {
	c := exec.Command("go", "run", ".")
	c.Env = append(c.Environ(), "DISPLAY=", "WAYLAND_DISPLAY=")
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, want := range []string{"no display", "dB"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("the output lacks %q:\n%s", want, out)
		}
	}
	for _, bad := range []string{"panic", "goroutine "} {
		if strings.Contains(string(out), bad) {
			t.Errorf("the output has %q:\n%s", bad, out)
		}
	}
}
