package browser

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
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
	p.t.Helper()
	p.pad(fmt.Sprintf("buttons[%d] = {pressed: true, touched: true, value: 1}", i))
	e := until()
	p.idle = p.seen
	p.pad(fmt.Sprintf("buttons[%d] = {pressed: false, touched: false, value: 0}", i))
	p.letGo()
	return e
}

func (p *tab) pad(change string) {
	p.t.Helper()
	p.do(func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		_, err = chromedp.Evaluate[any]("testPad."+change+"; 0")(ctx, t)
		return v, err
	})
}

// plugged opens the trainer on a page that has a gamepad.
func plugged(t *testing.T, browser context.Context, address string) *tab {
	t.Helper()
	p := open(t, browser, "about:blank", 1280, 800)
	p.do(call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: plugIn}))
	p.do(chromedp.Navigate(address))
	return p
}

// A round by gamepad alone, from the cautions to the verdict and on; the buttons
// reach what has no button of its own.
func playPad(t *testing.T, s served, browser context.Context) {
	p := plugged(t, browser, s.Learners[0]+"?probe=1&seed=21")
	p.screen("cautions")
	p.button(padBottom, func() event { return p.screen("home") })

	// The focus goes from place to place, and the lower button presses.
	for _, place := range []string{"fold.family", "family.voice"} {
		for range 60 {
			if e := p.button(padDown, func() event { return p.screen("home") }); e.str("focus") == place {
				break
			}
		}
		p.button(padBottom, func() event { return p.screen("home") })
	}
	p.shot("pad-home")
	p.button(padUp, func() event { return p.screen("home") })
	p.button(padTop, func() event { return p.screen("help") })
	p.button(padRight, func() event { return p.screen("home") })
	p.button(padBottom, func() event { return p.screen("round") })

	begin := p.button(padBottom, func() event { return p.event("begin") })
	if got := begin.str("family"); got != "voice" {
		t.Errorf("a round of %q, want the voice that was chosen", got)
	}
	aim, _ := begin["aim"].(float64)
	at := -36.0
	fader := func() event {
		e := p.event("fader")
		at, _ = e["db"].(float64)
		return e
	}
	near := aim - 3
	p.pad("axes[1] = -0.9") // up, by the standard
	for at < near {
		fader()
	}
	p.idle = p.seen
	p.pad("axes[1] = 0.05") // let go; no stick rests in the very middle
	p.letGo()
	for { // what it moved until then
		p.poll()
		if p.seen == len(p.events) {
			break
		}
		if e := p.events[p.seen]; e.is("fader") {
			at, _ = e["db"].(float64)
		}
		p.seen++
	}
	for at > aim || aim-at > 1 { // where the peaks decide, nothing above the aim is right
		key := padUp
		if at > aim {
			key = padDown
		}
		p.button(key, fader)
	}
	p.shot("pad-round")
	e := p.button(padBottom, func() event { return p.event("verdict") })
	verdict, _ := e["verdict"].(map[string]any)
	if off, _ := verdict["error_db"].(float64); off > 0 || off < -1.05 || verdict["in_window"] != true {
		t.Errorf("the fader stood at %.1f dB, the aim is %.1f dB, the verdict %v", at, aim, verdict)
	}
	p.screen("verdict")
	p.shot("pad-verdict")
	p.button(padBottom, func() event { return p.screen("round") })
	p.button(padRight, func() event { return p.screen("home") })
}
