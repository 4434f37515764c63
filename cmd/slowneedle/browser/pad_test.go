package browser

import (
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"slowneedle/game/window/drive"
)

// A gamepad of the standard layout (W3C Gamepad, "standard"), before anything
// else on the page runs. The test moves its stick and its buttons.
const plugIn = `
	const pad = globalThis.testPad = {
		id: "pad of the evening class", index: 0, connected: true, mapping: "standard", timestamp: 0,
		axes: [0, 0, 0, 0], buttons: Array.from({length: 17}, () => ({pressed: false, touched: false, value: 0})),
	};
	navigator.getGamepads = () => [null, pad];
`

// The buttons by their places in the standard layout.
const (
	padBottom = 0
	padRight  = 1
	padTop    = 3
	padUp     = 12
	padDown   = 13
)

// button holds a button of the pad down until what it does has happened.
func (p *tab) button(i int, until func() event) event {
	p.T.Helper()
	p.run(fmt.Sprintf("testPad.buttons[%d] = {pressed: true, touched: true, value: 1}", i))
	e := until()
	p.Rest(func() { p.run(fmt.Sprintf("testPad.buttons[%d] = {pressed: false, touched: false, value: 0}", i)) })
	return e
}

// A round by gamepad alone, from the cautions to the verdict and on; the buttons
// reach what has no button of its own.
func playPad(t *testing.T, s served) {
	p := blank(t, 960, 600)
	p.do(call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: plugIn}))
	p.do(chromedp.Navigate(s.Learners[0] + "?probe=1&seed=21"))
	p.Screen("cautions")
	to := func(button int, screen string) event {
		t.Helper()
		return p.button(button, func() event { return p.Screen(screen) })
	}
	to(padBottom, "home")

	// The focus goes from place to place, and the lower button presses.
	for _, place := range []string{"fold.family", "family.voice"} {
		for range 60 {
			if to(padDown, "home").Str("focus") == place {
				break
			}
		}
		to(padBottom, "home")
	}
	p.Shot("pad-home")
	to(padUp, "home")
	to(padTop, "help")
	to(padRight, "home")
	to(padBottom, "round")

	begin := p.button(padBottom, func() event { return p.Event("begin") })
	if got := begin.Str("family"); got != "voice" {
		t.Errorf("a round of %q, want the voice that was chosen", got)
	}
	aim, at := begin.Num("aim"), -36.0
	fader := func() event {
		e := p.Event("fader")
		at = e.Num("db")
		return e
	}
	p.run("testPad.axes[1] = -0.9") // up, by the standard
	for at < aim-3 {
		fader()
	}
	p.Rest(func() { p.run("testPad.axes[1] = 0.05") }) // let go; no stick rests in the very middle
	p.Poll()
	for _, e := range p.All[p.Seen:] { // what it moved until then
		if e.Is("fader") {
			at = e.Num("db")
		}
	}
	p.Seen = len(p.All)
	for at > aim || aim-at > 1 { // where the peaks decide, nothing above the aim is right
		key := padUp
		if at > aim {
			key = padDown
		}
		p.button(key, fader)
	}
	p.Shot("pad-round")
	v := drive.CheckVerdict(t, p.button(padBottom, func() event { return p.Event("verdict") }))
	if v.ErrorDB > 0 || v.ErrorDB < -1.05 || !v.InWindow {
		t.Errorf("the fader stood at %.1f dB, the aim is %.1f dB, the verdict %+v", at, aim, v)
	}
	p.Screen("verdict")
	p.Shot("pad-verdict")
	to(padBottom, "round")
	to(padRight, "home")
}
