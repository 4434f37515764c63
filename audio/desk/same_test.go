package desk

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
)

// The signal path gives the same result on every processor: built for amd64 with
// fused multiply-add (GOAMD64=v3; arm64 fuses as well) and without (v1), and for
// WebAssembly, which has none. What is counted, and every sample of a recording, is
// the same; levels agree to a billionth of a decibel.
func TestSameEverywhere(t *testing.T) {
	folder := t.TempDir()
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
	// The builds depend on these files; a result is kept only as long as all read files
	// are the same.
	files, err := filepath.Glob("../*/*.go")
	if err != nil || len(files) == 0 {
		t.Fatalf("no sources: %v", err)
	}
	for _, f := range append(files, "testdata/chain/main.go") {
		if _, err := os.ReadFile(f); err != nil {
			t.Fatal(err)
		}
	}
	var want []string
	for i, b := range builds {
		program := filepath.Join(folder, "chain"+strconv.Itoa(i))
		c := exec.Command("go", "build", "-o", program, "./testdata/chain")
		c.Env = append(os.Environ(), b.env...)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", b.name, err, out)
		}
		run := append(b.with, program)
		out, err := exec.Command(run[0], run[1:]...).Output()
		if err != nil {
			t.Fatalf("%s: %v", b.name, err)
		}
		got := strings.Fields(string(out))
		if i == 0 {
			want = got
			if len(want) < 1000 {
				t.Fatalf("only %d figures are printed", len(want))
			}
			continue
		}
		if len(got) != len(want) {
			t.Fatalf("%s prints %d figures, %s %d", b.name, len(got), builds[0].name, len(want))
		}
		for k := range want {
			if !sameFigure(got[k], want[k]) {
				t.Errorf("%s: figure %d is %s, on %s %s (after %s)", b.name, k, got[k], builds[0].name, want[k],
					strings.Join(want[max(0, k-8):k], " "))
			}
		}
	}
}

// sameFigure compares two words: what has a point to a billionth, the rest to the
// letter.
func sameFigure(a, b string) bool {
	if a == b {
		return true
	}
	x, errX := strconv.ParseFloat(strings.Trim(a, "[]{}"), 64)
	y, errY := strconv.ParseFloat(strings.Trim(b, "[]{}"), 64)
	return errX == nil && errY == nil && strings.Contains(a, ".") && strings.Contains(b, ".") && math.Abs(x-y) <= 1e-9
}
