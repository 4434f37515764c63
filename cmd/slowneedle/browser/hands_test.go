package browser

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"slowneedle/drills"
	"slowneedle/game/window/drive"
)

// slow is a page that draws ten pictures a second, as a slow phone does.
const slow = `
	const draw = requestAnimationFrame.bind(globalThis);
	globalThis.requestAnimationFrame = f => setTimeout(() => draw(f), 100);
`

// forbidden is a page for which the browser stores nothing, as some do in private windows.
const forbidden = `
	Object.defineProperty(globalThis, "localStorage", {get() { throw new DOMException("denied", "SecurityError") }});
`

// Keys and fingers that go down and up within one of ten pictures a second are not
// lost, and come in their order. What is locked for a class on such a page, for which the
// browser stores nothing, is lost with the page: a sentence tells so.
func playTaps(t *testing.T, s served) {
	p := blank(t, 960, 600, chromedp.EmulateTouch)
	p.do(call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: slow + forbidden}))
	p.do(chromedp.Navigate(s.Learners[0] + "?probe=1&seed=21"))
	p.Screen("cautions")
	p.To("Return", "home")
	_, round := p.InRound()
	p.Louder(1)

	const taps = 20
	at := p.For("Prior", "fader").Num("db")
	for i := range taps {
		p.stroke([]string{"Up", "Down"}[i%5/4], 0)
	}
	for i := range taps {
		want := at + 1
		if i%5 == 4 {
			want = at - 1
		}
		if at = p.Event("fader").Num("db"); at != want {
			t.Fatalf("tap %d of %d brought the fader to %g dB, want %g", i+1, taps, at, want)
		}
	}

	p.fingers = true
	x, y := round.Place(t, "monitor.more")
	for range taps {
		p.pointer(true, x, y)
		p.pointer(false, x, y)
	}
	p.Next("the monitor 20 dB louder", func(e event) bool { return e.Is("screen") && e.Says("−10 dB") })
	p.To("Escape", "home")
	p.To("c", "join")
	code := strings.ReplaceAll(s.Code, " ", "")
	p.typeIn(code, s.Code)
	p.Press("Down", func() event { return p.Next("name", func(e event) bool { return e.Is("typed") && e["field"] == 1.0 }) })
	p.Named("Moth")
	p.Press("Return", func() event { return p.Event("joined") })
	p.Notice("this browser stores nothing for this page")
}

// refused notes whether the page kept a key from the browser.
const refused = `globalThis.kept = {}; addEventListener("keydown", e => kept[e.key] = e.defaultPrevented, true)`

// The browser's own keys stay its own, the tab key goes through the controls and out of
// the page, and a button that it has reached is pressed by enter. Then a round with sound,
// which goes on while the page is zoomed, and one for the room, whose truth stays covered
// until a key.
func playKeys(t *testing.T, s served) {
	p := first(t, s.Learners[0])
	p.Shot("web-home")
	p.run(refused)
	for _, c := range []struct {
		key       string
		modifiers int64
		ours      bool
	}{
		{"j", ctrl, false}, {"k", command, false}, {"F6", 0, false}, {"Up", 0, true}, {"F1", 0, true},
	} {
		p.stroke(c.key, c.modifiers)
		if kept := get(p, chromedp.Evaluate[bool](fmt.Sprintf("kept[%q]", keyOf(c.key).key))); kept != c.ours {
			t.Errorf("the page keeps %s from the browser: %v, want %v", c.key, kept, c.ours)
		}
	}
	p.Screen("help") // F1
	p.To("Escape", "home")

	where := func() string {
		return get(p, chromedp.Evaluate[string](`document.activeElement.tagName + " " + document.activeElement.textContent`))
	}
	passed := []string{}
	for range 40 {
		p.stroke("Tab", 0)
		at := where()
		if strings.HasPrefix(at, "BODY") { // the browser's own
			break
		}
		passed = append(passed, at)
	}
	t.Logf("tab: %q", passed)
	if len(passed) < 8 || len(passed) == 40 {
		t.Errorf("the tab key passes %q and does not leave the page", passed)
	}
	for range 40 {
		p.stroke("Tab", 0)
		if where() == "BUTTON settings" {
			break
		}
	}
	p.Next("the focus on settings", func(e event) bool { return e.Is("screen") && e.Str("focus") == "key.settings" })
	p.do(call(input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Code: "Enter", Key: "Enter", Text: "\r", WindowsVirtualKeyCode: 13}))
	p.Screen("settings")
	p.Up("Return")
	p.To("Escape", "home")

	p.playZoomed()
	sound := 0
	p.From(&sound, "sound", func(e event) bool { return e.Is("sound") && e["silent"] == false })
	p.To("Escape", "home")
	p.To("o", "round")
	p.playTake("classroom-round", "classroom")
	p.Shot("classroom-covered")
	p.To("Return", "verdict")
	p.Shot("classroom-uncovered")
	verdicts := 0
	for _, e := range p.All {
		if e.Is("verdict") {
			verdicts++
		}
	}
	if verdicts != 1 {
		t.Errorf("%d verdicts were given; that for the room is kept nowhere", verdicts)
	}
}

// playZoomed plays a round while the page is zoomed, as by the browser's own keys or by
// moving it to a screen of other dots: half as many points with twice as many dots each.
// What is touched is where it is seen.
func (p *tab) playZoomed() {
	p.T.Helper()
	p.do(chromedp.EmulateViewport(1600, 1000))
	p.InRound()
	p.Louder(1)
	// The round as it lies in a window so high: it may have been drawn once more
	// before.
	laid := func(high float64) event {
		p.T.Helper()
		return p.Next("the round in the new window", func(e event) bool {
			b, there := e.Places()["slider.0.track"]
			return e.On("round") && there && b.Y+b.H > high/2 && b.Y+b.H < high
		})
	}
	p.do(chromedp.EmulateViewport(800, 500, chromedp.EmulateScale(2)))
	p.setFader(laid(500), 0.4)
	p.Shot("web-zoomed")
	p.do(chromedp.EmulateViewport(1600, 1000))
	p.setFader(laid(1000), 0.3)
	p.Lock()
	p.do(chromedp.EmulateViewport(960, 600))
	p.Shot("web-verdict")
}

// foreign are letters that the trainer's own fonts lack, and others of the same script.
const foreign, others = "ԱԲԳ", "ԴԵԶ"

// fillName tries the field of a name, a real one: accents, umlauts, hyphen and apostrophe,
// what is pasted, and the letters of other scripts as an input method makes them. While it
// is not typed into, the trainer draws it, letters that its fonts lack as well. It leaves
// the field's text selected.
func (p *tab) fillName() {
	p.T.Helper()
	written := func(want string) {
		p.T.Helper()
		p.Next("the name "+want, func(e event) bool { return e.Is("typed") && e.Str("text") == want })
		p.From(new(int), "the screen", func(e event) bool { return e.Is("screen") })
		if got := get(p, chromedp.Evaluate[string]("document.activeElement.value")); got != want {
			p.T.Errorf("the field holds %q, want %q", got, want)
		}
	}
	paste := func(text string) {
		p.do(call(input.InsertText, input.InsertTextParams{Text: text}))
	}
	mark := func() { p.run("document.activeElement.select()") }
	get(p, chromedp.Poll[bool](`document.activeElement.className === "field"`))
	paste("Zoë-Ünal O’Neill")
	written("Zoë-Ünal O’Neill")
	mark()
	p.do(call(input.ImeSetComposition, input.ImeSetCompositionParams{Text: "さくr", SelectionStart: 3, SelectionEnd: 3}))
	p.do(call(input.ImeSetComposition, input.ImeSetCompositionParams{Text: "さくら", SelectionStart: 3, SelectionEnd: 3}))
	paste("桜")
	written("桜")
	p.Shot("class-field-script")
	mark()
	paste(foreign)
	written(foreign)
	p.drawn(p.To("Up", "join"))
	p.joined()
	p.To("Down", "join")
	get(p, chromedp.Poll[bool](fmt.Sprintf("document.activeElement.value === %q", foreign)))
	mark()
}

// joined wants letters that the trainer's own font lacks to be those of the browser's, joined
// and in the order of their script: not boxes, which are all alike. The letters of a word of
// Arabic are narrower together than alone.
func (p *tab) joined() {
	p.T.Helper()
	type size struct{ Width, Ink float64 }
	as := func(text string) size {
		return get(p, chromedp.Evaluate[size](fmt.Sprintf(`(l => ({Width: l.advance, Ink: l.alpha.reduce((n, a) => n + a, 0) / 255}))(slowneedle.letter(%q, 40, false))`, text)))
	}
	box := as("\ue0ff") // nobody has a letter for this
	for _, pair := range [][2]string{{"ש", "ל"}, {"س", "ب"}} {
		if a, b := as(pair[0]), as(pair[1]); a.Ink == 0 || a == b || a == box || b == box {
			p.T.Errorf("%q is drawn as %v, %q as %v; a box is %v", pair[0], a, pair[1], b, box)
		}
	}
	if word, apart := as("سبب"), as("س").Width+2*as("ب").Width; word.Width >= apart {
		p.T.Errorf("the letters of a word are %.1f wide together and %.1f one by one: they are not joined", word.Width, apart)
	}
}

// drawn wants the foreign letters on the picture of a screen as the browser itself writes
// them: their ink lies where that of the same letters lies, and not where that of others does.
func (p *tab) drawn(screen event) {
	p.T.Helper()
	at := slices.IndexFunc(screen.Texts(), func(l drive.Text) bool { return l.Words == foreign })
	if at < 0 {
		p.T.Fatalf("%s is not written: %v", foreign, screen.Texts())
	}
	l := screen.Texts()[at]
	shown, err := png.Decode(bytes.NewReader(p.picture("class-foreign-letters")))
	if err != nil {
		p.T.Fatal(err)
	}
	box := image.Rect(int(l.X), int(l.Y), int(l.X+l.W)+1, int(l.Y+l.H)+1)
	ink := func(img image.Image, x, y int) float64 {
		r, g, b, _ := img.At(x, y).RGBA()
		r0, g0, b0, _ := img.At(box.Min.X, box.Min.Y).RGBA()
		return math.Abs(float64(r)-float64(r0)) + math.Abs(float64(g)-float64(g0)) + math.Abs(float64(b)-float64(b0))
	}
	// like is the correlation of the shown ink with that of a text, wherever it fits best.
	like := func(text string) float64 {
		const margin = 4
		data := get(p, chromedp.Evaluate[string](fmt.Sprintf(`(c => {
			c.width = %d, c.height = %d
			const on = c.getContext("2d")
			on.fillRect(0, 0, c.width, c.height)
			on.fillStyle = "#fff", on.font = "%.2fpx system-ui, sans-serif", on.textBaseline = "middle"
			on.fillText(%q, %d, c.height / 2)
			return c.toDataURL().split(",")[1]
		})(document.createElement("canvas"))`, box.Dx()+2*margin, box.Dy()+2*margin, l.Size, text, margin)))
		raw, err := base64.StdEncoding.DecodeString(data)
		if err != nil {
			p.T.Fatal(err)
		}
		want, err := png.Decode(bytes.NewReader(raw))
		if err != nil {
			p.T.Fatal(err)
		}
		best := 0.0
		for dy := range 2*margin + 1 {
			for dx := range 2*margin + 1 {
				var ab, aa, bb float64
				for y := range box.Dy() {
					for x := range box.Dx() {
						r, _, _, _ := want.At(x+dx, y+dy).RGBA()
						a, b := ink(shown, box.Min.X+x, box.Min.Y+y), float64(r)
						ab, aa, bb = ab+a*b, aa+a*a, bb+b*b
					}
				}
				best = math.Max(best, ab/math.Sqrt(aa*bb+1))
			}
		}
		return best
	}
	same, other, boxes := like(foreign), like(others), like("□□□")
	p.T.Logf("the ink of %s is like the same letters by %.2f, like %s by %.2f, like boxes by %.2f", foreign, same, others, other, boxes)
	if same < 0.8 || other > same-0.15 || boxes > same-0.15 {
		p.T.Errorf("the letters %s are drawn as something else", foreign)
	}
}

// A browser that has loaded the trainer once has it without the server, too.
func TestOffline(t *testing.T) {
	t.Parallel()
	s, stop := serving(t)
	p := open(t, s.Learners[0]+"?probe=1", 1280, 800)
	p.Screen("cautions")
	get(p, chromedp.Poll[bool](`(globalThis.keptAll ??= false, caches.open("slowneedle").then(c => c.keys()).then(k => keptAll = k.length >= 8), keptAll)`))
	wanted := get(p, chromedp.Evaluate[string](`fetch(document.querySelector("link[rel=manifest]").href).then(r => r.json()).then(m => m.display + " " + m.icons.length)`, chromedp.EvalAwaitPromise))
	if wanted != "standalone 1" {
		t.Errorf("the manifest: %q", wanted)
	}
	stop()
	p.reload()
	p.Screen("cautions")
}

// axe wants nothing on a screen that keeps people out (WCAG 2.2, levels A and AA, and good
// practice, as axe-core has them).
func (p *tab) axe(screen string) {
	p.T.Helper()
	if !get(p, chromedp.Evaluate[bool]("Boolean(globalThis.axe)")) {
		script, err := os.ReadFile(filepath.Join("..", "..", "..", "node_modules", "axe-core", "axe.min.js"))
		if err != nil {
			p.T.Fatalf("%v; go run ./cmd/start test installs it", err)
		}
		p.run(string(script))
	}
	found := get(p, chromedp.Evaluate[string](`axe.run().then(r => r.violations.map(v => v.id + ": " + v.help + "\n  " +
		v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + " " + (n.any[0] ? n.any[0].message : "")).join("\n  ")).join("\n"))`, chromedp.EvalAwaitPromise))
	if found != "" {
		p.T.Errorf("%s:\n%s", screen, found)
	}
}

// Every screen that a learner meets on the page can be heard, every drill among them, and
// the verdict is said; the parts that lead to other screens look at those.
func playHeard(t *testing.T, _ served) {
	s := serve(t, "--code", drive.OneRound(t))
	p := open(t, s.Learners[0]+"?probe=1&seed=21", 960, 600)
	press := func(label string) {
		t.Helper()
		p.run(fmt.Sprintf(`[...document.querySelectorAll("#mirror button")].find(b => b.textContent === %q).click()`, label))
	}
	w := drive.Walk{Trainer: p.Trainer, Page: true, Short: true, Look: func(name string, _ event) { p.axe(name) }, Judge: func(e event) { drive.CheckVerdict(t, e) }}
	w.Tour()
	w.Around()

	// A round by the elements alone.
	press("Practise")
	p.Screen("round")
	press("play")
	p.Event("begin")
	p.Screen("round")
	get(p, chromedp.Poll[bool](`document.querySelector("#mirror input[type=range]")?.getAttribute("aria-valuetext")?.endsWith("dB")`))
	if p.ringed(`#mirror input[type=range]`) == 0 {
		t.Error("a fader that has the focus looks as it did before")
	}
	p.run(`(r => (r.value = -7, r.dispatchEvent(new Event("input"))))(document.querySelector("#mirror input[type=range]"))`)
	if e := p.Event("fader"); e["db"] != -7.0 {
		t.Errorf("a slider set to -7 dB brings the fader to %v", e["db"])
	}
	press("lock")
	p.Screen("verdict")
	get(p, chromedp.Poll[bool](`/dB too (hot|low)|Spot on|window/.test(document.getElementById("live").textContent)`))
	w.See("Return", "round", "card of a practice")
	p.To("Escape", "home")
	w.See("e", "summary", "summary")
	w.See("Return", "home", "home after a practice")

	w.See("t", "testform", "test form")
	w.See("Return", "round", "card of a test form")
	p.To("Escape", "home")
	p.To("d", "home")
	w.Drills(drills.LineUp)
	w.Demonstration()
	w.See("p", "progress", "progress")
	w.See("t", "progress", "progress, its other half")
	p.To("Escape", "home")
	p.To("c", "join")
	w.Coded()
	w.Named("Moonrake")
	w.Class()
}

// ringed gives a control of the page the focus, and counts the points above, on and below
// it in the colour of the dark theme's ring.
func (p *tab) ringed(selector string) (points int) {
	p.T.Helper()
	p.run(fmt.Sprintf(`document.querySelector(%q).focus()`, selector))
	p.Next("the focus on "+selector, func(e event) bool { return e.Is("screen") && e.Str("focus") != "" })
	shown, err := png.Decode(bytes.NewReader(p.picture("web-focus")))
	if err != nil {
		p.T.Fatal(err)
	}
	at := get(p, chromedp.Evaluate[struct{ X, Width float64 }](fmt.Sprintf(`document.querySelector(%q).getBoundingClientRect().toJSON()`, selector)))
	for y := range shown.Bounds().Dy() {
		for x := int(at.X) - 30; x < int(at.X+at.Width)+30; x++ {
			if (color.RGBAModel.Convert(shown.At(x, y)) == color.RGBA{0x8f, 0xc7, 0xf2, 0xff}) {
				points++
			}
		}
	}
	return points
}

// BenchmarkFirstScreen reports how long the first screen takes that a browser has never
// shown before, and how many bytes it loads: the packed program, not the plain one.
func BenchmarkFirstScreen(b *testing.B) {
	files, err := os.ReadDir(app)
	if err != nil {
		b.Fatal(err)
	}
	bytes := 0.0
	for _, f := range files {
		info, err := f.Info()
		if err != nil {
			b.Fatal(err)
		}
		if filepath.Ext(f.Name()) != ".wasm" {
			bytes += float64(info.Size())
		}
	}
	s, _ := serving(b)
	chromium(b) // starts it
	for b.Loop() {
		began := time.Now()
		p := open(b, s.Learners[0]+"?probe=1", 1280, 800)
		p.Screen("cautions")
		b.ReportMetric(time.Since(began).Seconds(), "s-cold")
		b.ReportMetric(bytes/1e6, "MB")
	}
}
