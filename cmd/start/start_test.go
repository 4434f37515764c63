package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
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

// Without a display the first command says so, builds the browser edition and
// serves it, packed, until it is interrupted; then it ends well.
func TestNoDisplay(t *testing.T) {
	start := filepath.Join(t.TempDir(), "start")
	command(t, ".", "go", "build", "-o", start, ".")
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, start)
	c.Env = append(c.Environ(), "DISPLAY=", "WAYLAND_DISPLAY=")
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // as a shell does, so that an interrupt reaches all
	var complaints strings.Builder
	c.Stderr = &complaints
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	var said strings.Builder
	address := ""
	for lines := bufio.NewScanner(out); lines.Scan(); {
		fmt.Fprintln(&said, lines.Text())
		if a, ok := strings.CutPrefix(lines.Text(), "learners "); ok {
			address = strings.TrimSpace(a)
		}
		if strings.HasPrefix(lines.Text(), "stop with") {
			served(t, address)
			syscall.Kill(-c.Process.Pid, syscall.SIGINT)
		}
	}
	if err := c.Wait(); err != nil {
		t.Errorf("%v\n%s%s", err, said.String(), complaints.String())
	}
	if !strings.Contains(said.String(), "no display") || address == "" {
		t.Errorf("it does not say what it does:\n%s%s", said.String(), complaints.String())
	}
	if strings.Contains(complaints.String(), "panic") || strings.Contains(complaints.String(), "goroutine ") {
		t.Error(complaints.String())
	}
}

// served wants the page and the packed program at an address of this machine.
func served(t *testing.T, address string) {
	if !strings.HasPrefix(address, "http://127.0.0.1:") {
		t.Errorf("it serves at %q, want this machine alone", address)
	}
	for path, begin := range map[string]string{"": "<!doctype html>", "slowneedle.wasm": "\x1f\x8b", "wasm_exec.js": "//"} {
		r, err := http.NewRequest("GET", address+path, nil)
		if err != nil {
			t.Error(err)
			continue
		}
		r.Header.Set("Accept-Encoding", "gzip") // asked for by hand, it is not unpacked
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Error(err)
			continue
		}
		body, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		if err != nil || answer.StatusCode != 200 || !strings.HasPrefix(string(body), begin) {
			t.Errorf("%s: status %d, %v, begins with %.20q, want %q", address+path, answer.StatusCode, err, body, begin)
		}
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
