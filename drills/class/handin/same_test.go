package handin

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"slowneedle/drills"
)

// A hand-in checks clean on every processor, wherever it was played: with fused
// multiply-add (GOAMD64=v3; arm64 fuses as well), without (v1), and in WebAssembly.
// Four takes of each drill are played on each and checked on each.
func TestSameEverywhere(t *testing.T) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	wasm := filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "go_js_wasm_exec")
	builds := []struct {
		name string
		env  []string
		with []string // what runs the program
	}{
		{"amd64 v1", []string{"GOARCH=amd64", "GOAMD64=v1"}, nil},
		{"amd64 v3", []string{"GOARCH=amd64", "GOAMD64=v3"}, nil},
		{"wasm", []string{"GOOS=js", "GOARCH=wasm"}, []string{wasm}},
	}
	if runtime.GOARCH != "amd64" {
		builds[0].env, builds = nil, append(builds[:1], builds[2])
		builds[0].name = runtime.GOARCH
	}
	// A result is kept only as long as the files that the builds depend on are the same.
	files := []string{"testdata/player/main.go"}
	for _, pattern := range []string{"*.go", "../sheet/*.go", "../../*.go", "../../../audio/*/*.go"} {
		some, err := filepath.Glob(pattern)
		if err != nil || len(some) == 0 {
			t.Fatalf("no sources: %v", err)
		}
		files = append(files, some...)
	}
	for _, f := range files {
		if _, err := os.ReadFile(f); err != nil {
			t.Fatal(err)
		}
	}
	folder := t.TempDir()
	// All play one drill after the other at once, and check it when all have played it.
	type player struct {
		goOn io.WriteCloser
		out  *bufio.Scanner
	}
	var players []player
	for i, b := range builds {
		program := filepath.Join(folder, "player"+strconv.Itoa(i))
		c := exec.Command("go", "build", "-o", program, "./testdata/player")
		c.Env = append(os.Environ(), b.env...)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", b.name, err, out)
		}
		all := append(b.with, program, folder, "by"+strconv.Itoa(i))
		c = exec.CommandContext(t.Context(), all[0], all[1:]...)
		c.Env = append(os.Environ(), "GOMAXPROCS=") // WebAssembly has one thread, and fails if it is told of more
		c.Stderr = os.Stderr
		in, err := c.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		out, err := c.StdoutPipe()
		if err == nil {
			err = c.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Wait() }) // what it has to tell is in its output
		players = append(players, player{in, bufio.NewScanner(out)})
	}
	for _, d := range drills.Drills() {
		for i, p := range players {
			if !p.out.Scan() || p.out.Text() != "played" {
				t.Fatalf("%s: %s plays no hand-in: %s", d.ID, builds[i].name, p.out.Text())
			}
		}
		for _, p := range players {
			io.WriteString(p.goOn, "\n") // one that is gone says no more
		}
		for i, p := range players {
			for range builds {
				if !p.out.Scan() || p.out.Text() != "4 takes" {
					t.Fatalf("%s: checked on %s: %s", d.ID, builds[i].name, p.out.Text())
				}
			}
		}
	}
}
