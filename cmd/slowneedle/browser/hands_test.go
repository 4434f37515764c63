package browser

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// slow is a page that draws ten pictures a second, as a slow phone does.
const slow = `
	const draw = requestAnimationFrame.bind(globalThis);
	globalThis.requestAnimationFrame = f => setTimeout(() => draw(f), 100);
`

// Keys and fingers that go down and up within one of ten pictures a second are not
// lost, and come in their order.
func playTaps(t *testing.T, s served, browser context.Context) {
	p := open(t, browser, "about:blank", 1280, 800, chromedp.EmulateTouch)
	p.do(call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: slow}))
	p.do(chromedp.Navigate(s.Learners[0] + "?probe=1&seed=21"))
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.press(enter, func() event { return p.screen("round") })
	round := p.press(enter, func() event { p.event("begin"); return p.screen("round") })
	p.press(pageUp, func() event { return p.event("fader") })

	const taps = 20
	at := p.press(pageUp, func() event { return p.event("fader") })["db"].(float64)
	for i := range taps {
		k := key{"ArrowUp", "ArrowUp", 38}
		if i%5 == 4 {
			k = down
		}
		p.keyEvent(input.DispatchKeyEventTypeKeyDown, k)
		p.keyEvent(input.DispatchKeyEventTypeKeyUp, k)
	}
	for i := range taps {
		want := at + 1
		if i%5 == 4 {
			want = at - 1
		}
		if at = p.event("fader")["db"].(float64); at != want {
			t.Fatalf("tap %d of %d brought the fader to %g dB, want %g", i+1, taps, at, want)
		}
	}

	x, y := round.place(t, "monitor.more")
	finger := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		p.do(call(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: append([]*input.TouchPoint{}, points...)}))
	}
	for range taps {
		finger(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
		finger(input.DispatchTouchEventTypeTouchEnd)
	}
	p.next("the monitor 20 dB louder", func(e event) bool {
		return e.is("screen") && strings.Contains(fmt.Sprint(e["texts"]), "−10 dB")
	})
}

// The keys held beside another, as the browser's protocol has them.
const ctrl, command = 2, 4

// refused notes whether the page kept a key from the browser.
const refused = `globalThis.kept = {}; addEventListener("keydown", e => kept[e.key] = e.defaultPrevented, true); 0`

// The browser's own keys stay its own, the tab key goes through the controls and out of
// the page, and a button that it has reached is pressed by enter.
func playKeys(t *testing.T, s served, browser context.Context) {
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	get(p, chromedp.Evaluate[int](refused))
	with := func(k key, modifiers int64) {
		p.do(call(input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Code: k.code, Key: k.key, WindowsVirtualKeyCode: k.number, Modifiers: modifiers}))
		p.do(call(input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyUp, Code: k.code, Key: k.key, WindowsVirtualKeyCode: k.number, Modifiers: modifiers}))
	}
	for _, c := range []struct {
		key       key
		modifiers int64
		ours      bool
	}{
		{key{"KeyJ", "j", 74}, ctrl, false}, {key{"KeyK", "k", 75}, command, false},
		{key{"F6", "F6", 117}, 0, false}, {key{"ArrowUp", "ArrowUp", 38}, 0, true}, {key{"F1", "F1", 112}, 0, true},
	} {
		with(c.key, c.modifiers)
		if kept := get(p, chromedp.Evaluate[bool](fmt.Sprintf("kept[%q]", c.key.key))); kept != c.ours {
			t.Errorf("the page keeps %s from the browser: %v, want %v", c.key.code, kept, c.ours)
		}
	}
	p.screen("help") // F1
	p.press(escape, func() event { return p.screen("home") })

	where := func() string {
		return get(p, chromedp.Evaluate[string](`document.activeElement.tagName + " " + document.activeElement.textContent`))
	}
	passed := []string{}
	tab := key{"Tab", "Tab", 9}
	for range 40 {
		with(tab, 0)
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
		with(tab, 0)
		if where() == "BUTTON settings" {
			break
		}
	}
	p.next("the focus on settings", func(e event) bool { return e.is("screen") && e.str("focus") == "key.settings" })
	p.do(call(input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Code: "Enter", Key: "Enter", Text: "\r", WindowsVirtualKeyCode: 13}))
	p.screen("settings")
}

// A name is typed into a real field: accents, umlauts, hyphen and apostrophe, what is
// pasted, and the letters of other scripts as an input method makes them.
func playField(t *testing.T, s served, browser context.Context) {
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21&code="+strings.ReplaceAll(s.Code, " ", ""), 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("join") })
	written := func(want string) {
		t.Helper()
		p.next("the name "+want, func(e event) bool { return e.is("typed") && e.str("text") == want })
		p.from(new(int), "the screen", func(e event) bool { return e.is("screen") })
		if got := get(p, chromedp.Evaluate[string]("document.activeElement.value")); got != want {
			t.Errorf("the field holds %q, want %q", got, want)
		}
	}
	paste := func(text string) {
		p.do(call(input.InsertText, input.InsertTextParams{Text: text}))
	}
	get(p, chromedp.Poll[bool](`document.activeElement.className === "field"`))
	paste("Zoë-Ünal O’Neill")
	written("Zoë-Ünal O’Neill")
	get(p, chromedp.Evaluate[int]("document.activeElement.select(); 0"))
	p.do(call(input.ImeSetComposition, input.ImeSetCompositionParams{Text: "さくr", SelectionStart: 3, SelectionEnd: 3}))
	p.do(call(input.ImeSetComposition, input.ImeSetCompositionParams{Text: "さくら", SelectionStart: 3, SelectionEnd: 3}))
	paste("桜")
	written("桜")
	p.shot("class-field-script")
	// Letters that the trainer's own font lacks are those of the browser's, joined and in
	// the order of their script: not boxes, which are all alike. The letters of a word
	// of Arabic are narrower together than alone.
	type size struct{ Width, Ink float64 }
	drawn := func(text string) size {
		return get(p, chromedp.Evaluate[size](fmt.Sprintf(`(l => ({Width: l.advance, Ink: l.alpha.reduce((n, a) => n + a, 0) / 255}))(slowneedle.letter(%q, 40, false))`, text)))
	}
	box := drawn("\ue0ff") // nobody has a letter for this
	for _, pair := range [][2]string{{"ש", "ל"}, {"س", "ب"}} {
		if a, b := drawn(pair[0]), drawn(pair[1]); a.Ink == 0 || a == b || a == box || b == box {
			t.Errorf("%q is drawn as %v, %q as %v; a box is %v", pair[0], a, pair[1], b, box)
		}
	}
	if word, apart := drawn("سبب"), drawn("س").Width+2*drawn("ب").Width; word.Width >= apart {
		t.Errorf("the letters of a word are %.1f wide together and %.1f one by one: they are not joined", word.Width, apart)
	}
}

// A browser that has loaded the trainer once has it without the server, too.
func TestOffline(t *testing.T) {
	browser := headless(t)
	s, stop := serving(t)
	p := open(t, browser, s.Learners[0]+"?probe=1", 1280, 800)
	p.screen("cautions")
	get(p, chromedp.Poll[bool](`(globalThis.keptAll ??= false, caches.open("slowneedle").then(c => c.keys()).then(k => keptAll = k.length >= 8), keptAll)`))
	wanted := get(p, chromedp.Evaluate[string](`fetch(document.querySelector("link[rel=manifest]").href).then(r => r.json()).then(m => m.display + " " + m.icons.length)`, chromedp.EvalAwaitPromise))
	if wanted != "standalone 1" {
		t.Errorf("the manifest: %q", wanted)
	}
	stop()
	p.reload()
	p.screen("cautions")
}

// Nothing in the page keeps people out (WCAG 2.2, levels A and AA, and good practice, as
// axe-core has them), on every screen of a round, and the verdict is said.
func playHeard(t *testing.T, s served, browser context.Context) {
	script, err := os.ReadFile(filepath.Join("..", "..", "..", "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatalf("%v; go run ./cmd/start test installs it", err)
	}
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	get(p, chromedp.Evaluate[int](string(script)+";0"))
	axe := func(screen string) {
		t.Helper()
		found := get(p, chromedp.Evaluate[string](`axe.run().then(r => r.violations.map(v => v.id + ": " + v.help + "\n  " +
			v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + " " + (n.any[0] ? n.any[0].message : "")).join("\n  ")).join("\n"))`, chromedp.EvalAwaitPromise))
		if found != "" {
			t.Errorf("%s:\n%s", screen, found)
		}
	}
	press := func(label string) {
		t.Helper()
		get(p, chromedp.Evaluate[int](fmt.Sprintf(`[...document.querySelectorAll("#mirror button")].find(b => b.textContent === %q).click(), 0`, label)))
	}
	axe("cautions")
	press("I will start low")
	p.screen("home")
	axe("home")
	press("Practise")
	p.screen("round")
	press("play")
	p.event("begin")
	p.screen("round")
	axe("round")
	get(p, chromedp.Poll[bool](`document.querySelector("#mirror input[type=range]")?.getAttribute("aria-valuetext")?.endsWith("dB")`))
	get(p, chromedp.Evaluate[int](`(r => (r.value = -7, r.dispatchEvent(new Event("input")), 0))(document.querySelector("#mirror input[type=range]"))`))
	if e := p.event("fader"); e["db"] != -7.0 {
		t.Errorf("a slider set to -7 dB brings the fader to %v", e["db"])
	}
	press("lock")
	p.screen("verdict")
	axe("verdict")
	get(p, chromedp.Poll[bool](`/dB too (hot|low)|Spot on|window/.test(document.getElementById("live").textContent)`))
}

// BenchmarkFirstScreen reports how long the first screen takes that a browser has never
// shown before.
func BenchmarkFirstScreen(b *testing.B) {
	browser := headless(b)
	s, _ := serving(b)
	for b.Loop() {
		began := time.Now()
		p := open(b, browser, s.Learners[0]+"?probe=1", 1280, 800)
		p.screen("cautions")
		b.ReportMetric(time.Since(began).Seconds(), "s-cold")
	}
}
