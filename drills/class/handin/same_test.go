package handin

import (
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
	run := func(i int, args ...string) string {
		t.Helper()
		all := append(append(builds[i].with, filepath.Join(folder, "player"+strconv.Itoa(i))), args...)
		c := exec.Command(all[0], all[1:]...)
		c.Env = append(os.Environ(), "GOMAXPROCS=") // WebAssembly has one thread, and fails if it is told of more
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("%s %v: %v: %s", builds[i].name, args, err, out)
		}
		return string(out)
	}
	for i, b := range builds {
		c := exec.Command("go", "build", "-o", filepath.Join(folder, "player"+strconv.Itoa(i)), "./testdata/player")
		c.Env = append(os.Environ(), b.env...)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", b.name, err, out)
		}
		played := filepath.Join(folder, strconv.Itoa(i))
		if err := os.Mkdir(played, 0o755); err != nil {
			t.Fatal(err)
		}
		run(i, "write", played)
	}
	for i, b := range builds {
		files, err := filepath.Glob(filepath.Join(folder, "[0-9]", "*.json"))
		if err != nil || len(files) != len(drills.Drills())*len(builds) {
			t.Fatalf("%d hand-ins, %v", len(files), err)
		}
		if got, want := run(i, append([]string{"check"}, files...)...), strings.Repeat("4 takes\n", len(files)); got != want {
			t.Errorf("checked on %s:\n%s", b.name, got)
		}
	}
}
