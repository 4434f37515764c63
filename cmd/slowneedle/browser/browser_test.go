package browser

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

var markbook string // the class server's command under test

const app = "../../../dist/web" // the browser edition under test

func TestMain(m *testing.M) { os.Exit(testMain(m)) }

func testMain(m *testing.M) int {
	dir, err := os.MkdirTemp("", "slowneedle-browser-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	markbook = filepath.Join(dir, "markbook")
	for _, args := range [][]string{
		{"build", "-o", markbook, "./cmd/markbook"},
		{"run", "./cmd/start", "web"},
	} {
		cmd := exec.Command("go", args...)
		cmd.Dir = "../../.."
		if out, err := cmd.CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "go %v: %v\n%s", args, err, out)
			return 1
		}
	}
	return m.Run()
}

// served is a class server that runs.
type served struct {
	Learners []string `json:"learners"`
	Teacher  []string `json:"teacher"`
	Code     string   `json:"code"`
	Key      string   `json:"key"`
}

// serve starts a class server of its own, which ends with the test.
func serve(t *testing.T, more ...string) served {
	t.Helper()
	args := append([]string{"serve", "--json", "--listen=127.0.0.1:0", "--data", t.TempDir(), "--app", app}, more...)
	cmd := exec.Command(markbook, args...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Signal(os.Interrupt)
		cmd.Wait()
	})
	var s served
	if err := json.NewDecoder(out).Decode(&s); err != nil {
		t.Fatalf("the class server does not say where it is: %v", err)
	}
	return s
}

// A round on a desktop's keyboard, from the first screen to the verdict.
func TestRound(t *testing.T) {
	s := serve(t)
	p := open(t, headless(t), s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	p.shot("web-cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.shot("web-home")
	p.press(enter, func() event { return p.screen("round") })
	p.press(enter, func() event { p.event("begin"); return p.screen("round") })
	for range 10 {
		p.press(pageUp, func() event { return p.event("fader") })
	}
	p.shot("web-round")
	p.press(enter, func() event { return p.event("verdict") })
	p.screen("verdict")
	p.shot("web-verdict")
}
