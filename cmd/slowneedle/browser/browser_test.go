package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
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
	s, _ := serving(t, more...)
	return s
}

// serving is serve with what stops it before the test ends.
func serving(t testing.TB, more ...string) (s served, stop func()) {
	t.Helper()
	args := append([]string{"serve", "--json", "--listen=127.0.0.1:0", "--data", t.TempDir(), "--app", app}, more...)
	cmd := exec.Command(markbook, args...)
	cmd.Stderr = t.Output() // not into the figures of a benchmark
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	stop = sync.OnceFunc(func() {
		cmd.Process.Signal(os.Interrupt)
		cmd.Wait()
	})
	t.Cleanup(stop)
	if err := json.NewDecoder(out).Decode(&s); err != nil {
		t.Fatalf("the class server does not say where it is: %v", err)
	}
	return s, stop
}

// twoRounds is a sheet of two rounds of the first drill.
const twoRounds = `{"format":"slowneedle sheet 2","drill":"take","rounds":2,"level":1,"seed":4711}`

// Everything in one browser and against one class server, each part with
// storage of its own, as on another machine.
func TestBrowserEdition(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sheet.json")
	if err := os.WriteFile(file, []byte(twoRounds), 0o644); err != nil {
		t.Fatal(err)
	}
	s := serve(t, "--sheet", file, "--title", "Evening class")
	browser := headless(t)
	t.Run("class", func(t *testing.T) { playClass(t, s, browser) })
	t.Run("round", func(t *testing.T) { playRounds(t, s, browser) })
	t.Run("pad", func(t *testing.T) { playPad(t, s, browser) })
	t.Run("files", func(t *testing.T) { playFiles(t, s, browser) })
	t.Run("own", func(t *testing.T) { playOwn(t, s, browser) })
	t.Run("upright", func(t *testing.T) { playPhone(t, s, browser, "OWL", "upright", 390, 844) })
	t.Run("zoomed", func(t *testing.T) { playZoomed(t, s, browser) })
	t.Run("taps", func(t *testing.T) { playTaps(t, s, browser) })
	t.Run("keys", func(t *testing.T) { playKeys(t, s, browser) })
	t.Run("field", func(t *testing.T) { playField(t, s, browser) })
	t.Run("heard", func(t *testing.T) { playHeard(t, s, browser) })
	t.Run("lying", func(t *testing.T) { playPhone(t, s, browser, "JAY", "lying", 844, 390) })
}

// A learner types the class code, plays the sheet, loses the page half way, goes
// on, and hands in; the teacher watches the board.
func playClass(t *testing.T, s served, browser context.Context) {
	board := open(t, browser, s.Teacher[0], 1280, 800)
	p := open(t, browser, s.Learners[0]+"?probe=1", 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.press(letter('c'), func() event { return p.screen("join") })

	// A code with one character mistyped is refused as it stands.
	code := strings.ReplaceAll(s.Code, " ", "")
	wrong := "A"
	if code[11] == 'A' {
		wrong = "C"
	}
	bad := p.typeIn(strings.ToLower(code[:11]+wrong), s.Code[:len(s.Code)-1]+wrong)
	if bad["wrong"] != true || !strings.Contains(bad.str("says"), "typing error") {
		t.Errorf("a mistyped code: %v", bad)
	}
	p.shot("class-mistyped")
	p.press(rubOut, func() event { return p.event("typed") })
	good := p.typeIn(code[11:], s.Code)
	if good["right"] != true || !strings.Contains(good.str("says"), "2 rounds") {
		t.Errorf("the code: %v", good)
	}
	p.press(down, func() event { return p.next("name", func(e event) bool { return e.is("typed") && e["field"] == 1.0 }) })
	p.typeIn("Moonrake", "Moonrake")
	p.shot("class-join")
	p.press(enter, func() event { p.event("joined"); return p.screen("round") })
	p.shot("class-card")
	p.playTake("class-round", "verdict")
	board.says("round 2 of 2")
	if names := board.text("#learners"); strings.Contains(names, "Moonrake") {
		t.Errorf("the board shows an alias that nobody asked for: %q", names)
	}
	board.shot("class-board-hidden")

	// The page is lost; the take is not.
	p.reload()
	p.screen("home")
	p.press(letter('c'), func() event { return p.screen("join") })
	p.shot("class-go-on")
	p.press(enter, func() event { return p.screen("round") })
	p.playTake("class-round-2", "verdict")
	all := 0 // it may come before the verdict stands on the screen
	p.from(&all, "acknowledgement", func(e event) bool { return e.is("handin") && e.str("state") == "in" })
	p.press(enter, func() event { return p.screen("handin") })
	p.shot("class-handed-in")
	p.saveHandIn()

	board.says("1 handed in")
	board.do(chromedp.Click(chromedp.CSS("#names")))
	board.says("Moonrake")
	board.shot("class-board")
}

// A round with sound, and one for the room, whose truth stays covered until a
// key.
func playRounds(t *testing.T, s served, browser context.Context) {
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	p.shot("web-cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.shot("web-home")
	p.press(enter, func() event { return p.screen("round") })
	p.playTake("web-round", "verdict")
	p.shot("web-verdict")
	sound := 0
	p.from(&sound, "sound", func(e event) bool { return e.is("sound") && e["silent"] == false })

	p.press(escape, func() event { return p.screen("home") })
	p.press(letter('o'), func() event { return p.screen("round") })
	p.playTake("classroom-round", "classroom")
	p.shot("classroom-covered")
	p.press(enter, func() event { return p.screen("verdict") })
	p.shot("classroom-uncovered")
	verdicts := 0
	for _, e := range p.events {
		if e.is("verdict") {
			verdicts++
		}
	}
	if verdicts != 1 {
		t.Errorf("%d verdicts were given; that for the room is kept nowhere", verdicts)
	}
}

// playTake plays a round from its card to the screen that follows the lock.
func (p *tab) playTake(shot, then string) {
	p.t.Helper()
	round := p.press(enter, func() event { p.event("begin"); return p.screen("round") })
	p.setFader(round, 0.4)
	p.press(pageUp, func() event { return p.event("fader") })
	p.shot(shot)
	p.press(enter, func() event { return p.screen(then) })
}

// says waits until a page that is no trainer holds a text.
func (p *tab) says(text string) {
	p.t.Helper()
	get(p, chromedp.Poll[bool](fmt.Sprintf("document.body.innerText.includes(%q)", text)))
}

func (p *tab) text(selector string) string {
	p.t.Helper()
	return get(p, chromedp.Text(chromedp.CSS(selector)))
}

// The browser edition goes over a class's network in 4.5 MB, all of it, packed as
// the class server sends it.
func TestSize(t *testing.T) {
	const most = 4_500_000
	total := int64(0)
	list, err := os.ReadDir(app)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range list {
		info, err := f.Info()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(filepath.Join(app, f.Name()+".gz")); err == nil || strings.HasPrefix(f.Name(), ".") {
			continue // its packed form is sent
		}
		t.Logf("%9d %s", info.Size(), f.Name())
		total += info.Size()
	}
	t.Logf("%9d in all", total)
	if total > most {
		t.Errorf("the browser edition has %d bytes packed; at most %d are wanted", total, most)
	}
}
