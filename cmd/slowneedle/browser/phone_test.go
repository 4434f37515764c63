package browser

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// leastFinger is how high what a finger must hit is at the least, in points:
// WCAG 2.2 asks for 24 (SC 2.5.8), and for 44 at its strictest (SC 2.5.5).
const leastFinger = 40.0

// phonePixels is how many pixels a phone's screen has to a point (common
// practice).
const phonePixels = 3

// phone is a page on a phone, which is touched and nothing else.
type phone struct {
	*tab
	held string
	w, h float64
	now  event // the screen that stands
}

// A phone: every screen a learner meets, by finger alone, from the board's
// link to the hand-in. All of it is drawn in a phone's pixels with
// SLOWNEEDLE_EVERY_SCREEN=1, for that takes its time without a graphics card;
// otherwise only what follows when the phone is turned.
func playPhone(t *testing.T, s served, browser context.Context, name, held string, w, h int64) {
	// The link that a board gives to a room; a server for this machine alone shows none.
	link := s.Learners[0] + "?code=" + strings.ReplaceAll(s.Code, " ", "")
	p := &phone{held: held, w: float64(w), h: float64(h)}
	pixels := 1.0
	if os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != "" {
		pixels = phonePixels
	}
	p.tab = open(t, browser, link+"&probe=1", w, h, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(pixels))
	p.now = p.screen("cautions")
	p.look("cautions")
	p.to("key.tour", "tour", "tour-1")
	p.change("key.enter", "card 2 of 3")
	p.look("tour-2")
	p.change("key.enter", "card 3 of 3")
	p.look("tour-3")
	p.to("key.enter", "cautions", "")
	p.to("key.enter", "join", "")
	for _, r := range name {
		p.now = p.touch(p.now, "letter."+string(r), func() event { p.event("typed"); return p.screen("join") })
	}
	p.look("join")
	p.to("begin", "round", "card")
	p.take("round")
	p.to("key.enter", "round", "")
	p.take("")
	p.to("key.enter", "handin", "handin")
	p.to("key.enter", "home", "home")
	p.to("key.help", "help", "help")
	p.to("key.esc", "home", "")
	p.to("key.settings", "settings", "settings")
	p.change("set.theme.more", "paper (light)")
	p.look("settings-paper")
	p.to("key.esc", "home", "home-paper")
	p.to("key.progress", "progress", "progress")
	p.to("key.esc", "home", "")
	p.to("key.class", "join", "join-again")
	p.to("key.esc", "home", "") // no sheets are made on a class's page
	p.to("key.demonstration", "round", "classroom-card")
	p.set()
	p.to("key.enter", "classroom", "classroom")
	p.to("uncover", "verdict", "classroom-verdict")
	p.to("key.esc", "home", "")
	p.to("start", "round", "")
	// It is turned while the round is played.
	p.now = p.touch(p.now, "key.enter", func() event { p.event("begin"); return p.screen("round") })
	p.do(chromedp.EmulateViewport(h, w, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(phonePixels)))
	p.w, p.h = p.h, p.w
	p.now = p.next("the round, turned", func(e event) bool { return e.is("screen") && len(p.outside(e)) == 0 })
	p.look("turned")
	x, top, bottom := p.now.track(t, "slider.0.track")
	p.tap(x, top+(bottom-top)*0.6, func() event { return p.event("fader") })
	p.now = p.touch(p.now, "key.enter", func() event { p.event("verdict"); return p.screen("verdict") })
	p.look("turned-verdict")
}

// to touches a place that leads to a screen, and looks at that if it is named.
func (p *phone) to(id, scene, name string) {
	p.t.Helper()
	p.now = p.touch(p.now, id, func() event { return p.screen(scene) })
	if name != "" {
		p.look(name)
	}
}

// change touches a place that changes the screen until that says a text: the
// same screen may be drawn again for other reasons meanwhile.
func (p *phone) change(id, text string) {
	p.t.Helper()
	p.now = p.touch(p.now, id, func() event {
		return p.next("screen with "+text, func(e event) bool {
			texts, _ := e["texts"].([]any)
			for _, v := range texts {
				if line, _ := v.([]any); len(line) > 0 && line[0] == text {
					return true
				}
			}
			return false
		})
	})
}

// set begins a round and sets its fader.
func (p *phone) set() {
	p.t.Helper()
	p.now = p.touch(p.now, "key.enter", func() event { p.event("begin"); return p.screen("round") })
	x, top, bottom := p.now.track(p.t, "slider.0.track")
	p.tap(x, top+(bottom-top)*0.35, func() event { return p.event("fader") })
}

// take plays a round to its verdict, and looks at both if the round is named.
func (p *phone) take(name string) {
	p.t.Helper()
	p.set()
	if name != "" {
		p.look(name)
	}
	p.now = p.touch(p.now, "key.enter", func() event { p.event("verdict"); return p.screen("verdict") })
	if name != "" {
		p.look("verdict")
	}
}

// look wants all that can be touched on the screen inside it, and as high as a
// finger needs.
func (p *phone) look(name string) {
	p.t.Helper()
	p.shot("phone-" + name + "-" + p.held)
	for _, id := range p.outside(p.now) {
		p.t.Errorf("%s %s: %s reaches out of the screen", name, p.held, id)
	}
	for id, r := range touchable(p.now) {
		if r[3] < leastFinger {
			p.t.Errorf("%s %s: %s is %.1f points high, too little for a finger", name, p.held, id, r[3])
		}
	}
}

// outside lists what of a screen can be touched only outside the phone's.
func (p *phone) outside(e event) []string {
	var all []string
	for id, r := range touchable(e) {
		if r[0] < 0 || r[1] < 0 || r[0]+r[2] > p.w+0.5 || r[1]+r[3] > p.h+0.5 {
			all = append(all, id)
		}
	}
	return all
}

// touchable are the places of a screen but for the faders: x, y, width, height.
func touchable(e event) map[string][4]float64 {
	all := map[string][4]float64{}
	places, _ := e["places"].(map[string]any)
	for id, v := range places {
		if strings.HasSuffix(id, ".track") || strings.HasSuffix(id, ".knob") {
			continue
		}
		r, _ := v.([]any)
		var at [4]float64
		for i := range at {
			at[i], _ = r[i].(float64)
		}
		all[id] = at
	}
	return all
}
