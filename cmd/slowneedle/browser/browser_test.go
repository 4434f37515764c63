package browser

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
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

// twoRounds is a sheet of two rounds of the first drill.
const twoRounds = `{"format":"slowneedle sheet 1","drill":"take","rounds":2,"level":1,"seed":4711}`

// A learner types the class code, plays the sheet, loses the page half way, goes
// on, and hands in; the teacher watches the board.
func TestClass(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sheet.json")
	if err := os.WriteFile(file, []byte(twoRounds), 0o644); err != nil {
		t.Fatal(err)
	}
	s := serve(t, "--sheet", file, "--title", "Evening class")
	browser := headless(t)
	board := open(t, browser, s.Teacher[0], 1280, 800)
	board.do(chromedp.WaitVisible(chromedp.CSS("#lead")))
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
	if bad["wrong"] != true || !strings.Contains(bad.str("says"), "mistyped") {
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
	p.playTake("class-round")
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
	p.playTake("class-round-2")
	p.next("acknowledgement", func(e event) bool { return e.is("handin") && e.str("state") == "in" })
	p.press(enter, func() event { return p.screen("handin") })
	p.shot("class-handed-in")

	board.says("1 handed in")
	board.do(chromedp.Click(chromedp.CSS("#names")))
	board.says("Moonrake")
	board.shot("class-board")
}

// playTake plays a round from its card to its verdict.
func (p *tab) playTake(shot string) {
	p.t.Helper()
	p.press(enter, func() event { p.event("begin"); return p.screen("round") })
	for range 9 {
		p.press(pageUp, func() event { return p.event("fader") })
	}
	p.shot(shot)
	p.press(enter, func() event { p.event("verdict"); return p.screen("verdict") })
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

// A round for the room: after the lock the truth stays covered until a key.
func TestRoom(t *testing.T) {
	s := serve(t)
	p := open(t, headless(t), s.Learners[0]+"?probe=1&seed=4", 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.press(letter('o'), func() event { return p.screen("round") })
	p.press(enter, func() event { p.event("begin"); return p.screen("round") })
	for range 9 {
		p.press(pageUp, func() event { return p.event("fader") })
	}
	p.shot("room-round")
	p.press(enter, func() event { return p.screen("room") })
	p.shot("room-covered")
	p.press(enter, func() event { return p.screen("verdict") })
	p.shot("room-uncovered")
	if kept := get(p, chromedp.Evaluate[int](`Object.keys(localStorage).filter(k => k.startsWith("slowneedle") && k !== "slowneedle-settings").length`)); kept != 0 {
		t.Errorf("%d things of a round for the room were kept", kept)
	}
}

// A phone, upright and lying: every screen a learner meets, by finger alone.
func TestPhone(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sheet.json")
	if err := os.WriteFile(file, []byte(twoRounds), 0o644); err != nil {
		t.Fatal(err)
	}
	s := serve(t, "--sheet", file)
	for _, phone := range []struct {
		name string
		w, h int64
	}{{"upright", 390, 844}, {"lying", 844, 390}} {
		t.Run(phone.name, func(t *testing.T) {
			p := open(t, headless(t), s.Learners[0]+"?probe=1&code="+strings.ReplaceAll(s.Code, " ", "+"), phone.w, phone.h, chromedp.EmulateMobile, chromedp.EmulateTouch)
			e := p.screen("cautions")
			p.shot("phone-cautions-" + phone.name)
			e = p.touch(e, "key.enter", func() event { return p.screen("join") })
			for _, r := range "MOON" {
				e = p.touch(e, "letter."+string(r), func() event { p.event("typed"); return p.screen("join") })
			}
			p.shot("phone-join-" + phone.name)
			e = p.touch(e, "begin", func() event { p.event("joined"); return p.screen("round") })
			p.shot("phone-card-" + phone.name)
			e = p.touch(e, "key.enter", func() event { p.event("begin"); return p.screen("round") })
			x, top, bottom := e.track(t, "slider.0.track")
			p.tap(x, top+(bottom-top)*0.35, func() event { return p.event("fader") })
			p.shot("phone-round-" + phone.name)
			v := p.touch(e, "key.enter", func() event { p.event("verdict"); return p.screen("verdict") })
			p.shot("phone-verdict-" + phone.name)
			e = p.touch(v, "key.esc", func() event { return p.screen("home") })
			p.shot("phone-home-" + phone.name)
		})
	}
}
