package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Without a display the first command says so, builds the browser edition and
// serves it, packed, until it is interrupted; then it ends well.
func TestNoDisplay(t *testing.T) {
	start := filepath.Join(t.TempDir(), "start")
	command(t, ".", "go", "build", "-o", start, ".")
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, start)
	c.Env = append(c.Environ(), "DISPLAY=", "WAYLAND_DISPLAY=", "TMPDIR="+t.TempDir())
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

// The tar as another program unpacks it: everything in one folder, the sums
// right, the command for teachers runs, says its version and finds the browser
// edition beside it. The window is left out: it takes minutes to build.
func TestTar(t *testing.T) {
	inProject(t)
	m := testMaker(t)
	host := built{target{runtime.GOOS, runtime.GOARCH}, "./cmd/markbook"}
	a := m.archive(host.target)
	err := errors.Join(a.addTexts(), a.addFolder("web", m.web), m.program(a, host), a.addLicences(host), m.pack(host.target, a))
	if err != nil {
		t.Fatal(err)
	}
	if err := writeSums(m.out); err != nil {
		t.Fatal(err)
	}
	command(t, m.out, "sha256sum", "-c", "SHA256SUMS")

	name := "slowneedle-1.2.3-test-" + host.system + "-" + host.arch
	list := command(t, m.out, "tar", "-tzf", name+".tar.gz")
	for _, want := range []string{
		"README.md", "LICENSE", "markbook", "web/index.html", "web/slowneedle.wasm", "guide/learners.md", "guide/round.png", "guide/tour.md", "guide/tour/home.png",
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
