package browser

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

var (
	scratch  string // a folder of all tests
	markbook string // the class server's command under test
)

const app = "../../../dist/web" // the browser edition under test

func TestMain(m *testing.M) { os.Exit(testMain(m)) }

func testMain(m *testing.M) int {
	dir, err := os.MkdirTemp("", "slowneedle-browser-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	scratch = dir
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
	flag.Parse()
	if err := flag.Set("test.parallel", "3"); err != nil { // a page waits for its pictures half of the time
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer func() {
		if shared.stop != nil {
			shared.stop()
		}
	}()
	return m.Run()
}

// served is a class server that runs.
type served struct {
	Learners []string `json:"learners"`
	Teacher  []string `json:"teacher"`
	Code     string   `json:"code"`
	Key      string   `json:"key"`
}

// serve starts a class server, which ends with the test.
func serve(t testing.TB, more ...string) served {
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

// eveningClass starts a class server with a sheet of two rounds of the first drill.
func eveningClass(t *testing.T, more ...string) served {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sheet.json")
	if err := os.WriteFile(file, []byte(`{"format":"slowneedle sheet 2","drill":"take","rounds":2,"level":1,"seed":4711}`), 0o644); err != nil {
		t.Fatal(err)
	}
	return serve(t, append([]string{"--sheet", file, "--title", "Evening class"}, more...)...)
}

// Everything in one browser and against one class server, each part with storage of its
// own, as on another machine.
func TestBrowserEdition(t *testing.T) {
	t.Parallel()
	s := eveningClass(t)
	for _, part := range []struct {
		name string
		play func(*testing.T, served)
	}{
		{"heard", playHeard}, {"upright", playUpright}, {"class", playClass}, {"listen", playListen}, {"keys", playKeys},
		{"files", playFiles}, {"pad", playPad}, {"taps", playTaps}, {"lying", playLying}, {"insecure", playInsecure},
	} {
		t.Run(part.name, func(t *testing.T) {
			t.Parallel()
			part.play(t, s)
		})
	}
}

// first opens the trainer for the first time on a machine and goes to its first screen.
func first(t *testing.T, address string) *tab {
	t.Helper()
	p := open(t, address+"?probe=1&seed=21", 960, 600)
	p.Screen("cautions")
	p.To("Return", "home")
	return p
}

// A learner types the class code, gives a name, plays the sheet, loses the page half way,
// goes on, and hands in; the teacher watches the board.
func playClass(t *testing.T, _ served) {
	s := eveningClass(t) // whose board has nobody else
	board := open(t, s.Teacher[0], 1280, 800)
	p := first(t, s.Learners[0])
	p.To("c", "join")

	// A code with one character mistyped is refused as it stands.
	code := strings.ReplaceAll(s.Code, " ", "")
	wrong := "A"
	if code[11] == 'A' {
		wrong = "C"
	}
	bad := p.typeIn(strings.ToLower(code[:11]+wrong), s.Code[:len(s.Code)-1]+wrong)
	if bad["wrong"] != true || !strings.Contains(bad.Str("says"), "typing error") {
		t.Errorf("a mistyped code: %v", bad)
	}
	p.Shot("class-mistyped")
	p.For("BackSpace", "typed")
	good := p.typeIn(code[11:], s.Code)
	if good["right"] != true || !strings.Contains(good.Str("says"), "2 rounds") {
		t.Errorf("the code: %v", good)
	}
	p.Press("Down", func() event { return p.Next("name", func(e event) bool { return e.Is("typed") && e["field"] == 1.0 }) })
	p.fillName()
	p.Named("Moonrake")
	p.Shot("class-join")
	p.Press("Return", func() event { p.Event("joined"); return p.Screen("round") })
	p.Shot("class-card")
	p.playTake("class-round", "verdict")
	board.says("round 2 of 2")
	if names := board.text("#learners"); strings.Contains(names, "Moonrake") {
		t.Errorf("the board shows an alias that nobody asked for: %q", names)
	}
	board.Shot("class-board-hidden")

	// The page is lost; the take is not. That a browser waits for a press before it plays
	// is no want of sound.
	p.reload()
	if sound := p.Event("sound"); sound["silent"] != true {
		t.Errorf("the page plays before anything was pressed: %v", sound)
	}
	if home := p.Screen("home"); home.Says("no sound") {
		t.Errorf("the first screen before anything is pressed: %v", home["texts"])
	}
	p.To("c", "join")
	p.Shot("class-go-on")
	p.To("Return", "round")
	p.playTake("class-round-2", "verdict")
	all := 0 // it may come before the verdict stands on the screen
	p.From(&all, "acknowledgement", handedIn)
	p.To("Return", "handin")
	p.Shot("class-handed-in")
	p.saveHandIn()

	board.says("1 handed in")
	board.do(chromedp.Click(chromedp.CSS("#names")))
	board.says("Moonrake")
	board.Shot("class-board")
}

// handedIn accepts the news that the class server has the hand-in.
func handedIn(e event) bool { return e.Is("handin") && e.Str("state") == "in" }

// playTake plays a round from its card to the screen that follows the lock.
func (p *tab) playTake(shot, then string) {
	p.T.Helper()
	_, round := p.Begin()
	p.setFader(round, 0.4)
	p.Louder(1)
	p.Shot(shot)
	p.To("Return", then)
}

// An exam: from round to round without a verdict; a page that is loaded again in the middle
// of a round comes back to it; what is locked stays locked; the verdicts come when the
// teacher closes the exam.
func TestExam(t *testing.T) {
	t.Parallel()
	s := eveningClass(t, "--exam")
	p := open(t, s.Learners[0]+"?probe=1&code="+strings.ReplaceAll(s.Code, " ", ""), 960, 600)
	p.refused.Store(true) // when it asks for the verdicts before they are there
	p.Screen("cautions")
	p.To("Return", "join")
	p.Named("Moonrake")
	p.Shot("exam-join")
	p.axe("joining an exam")
	p.Press("Return", func() event { p.Event("joined"); return p.Screen("round") })
	p.Begin()
	p.Louder(2)
	p.Press("Return", func() event {
		return p.Next("the second card", func(e event) bool { return e.On("round") && e.Says("round 2 of 2") })
	})
	p.Shot("exam-card")
	p.Begin()
	p.Louder(1)
	p.reload()
	p.Screen("join")
	card := p.To("Return", "round")
	if !card.Says("round 2 of 2") {
		t.Errorf("after the page was lost: %v", card["texts"])
	}
	p.Begin()
	p.Louder(3)
	p.Press("Return", func() event { p.Next("acknowledgement", handedIn); return p.Screen("handin") })
	p.Shot("exam-handed-in")
	p.axe("an exam that is handed in")
	for _, e := range p.All {
		if e.Is("verdict") || e.Is("verdicts") {
			t.Errorf("a verdict before the exam was closed: %v", e)
		}
	}
	board := open(t, s.Teacher[0], 1280, 800)
	board.says("1 handed in")
	board.run(`globalThis.confirm = () => true; [...document.querySelectorAll("#sheets button")].find(b => b.textContent === "close").click()`)
	if e := p.Event("verdicts"); e.Num("count") != 2 {
		t.Errorf("verdicts: %v, want those of 2 rounds", e)
	}
	p.Screen("handin")
	p.Shot("exam-verdicts")
	p.axe("the verdicts of an exam")
	board.Shot("exam-board")
}

// says waits until a page that is no trainer holds a text.
func (p *tab) says(text string) {
	p.T.Helper()
	get(p, chromedp.Poll[bool](fmt.Sprintf("document.body.innerText.includes(%q)", text)))
}

func (p *tab) text(selector string) string {
	p.T.Helper()
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
