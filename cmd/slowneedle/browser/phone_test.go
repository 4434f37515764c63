package browser

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slowneedle/game/window/drive"
)

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

func playUpright(t *testing.T, s served) { playPhone(t, s, "OWL", "upright", 390, 844) }
func playLying(t *testing.T, s served)   { playPhone(t, s, "JAY", "lying", 844, 390) }

// A phone: every screen a learner meets, by finger alone, from the board's
// link to the hand-in. All of it is drawn in a phone's pixels with
// SLOWNEEDLE_EVERY_SCREEN=1, for that takes its time without a graphics card;
// otherwise only what follows when the phone is turned.
func playPhone(t *testing.T, s served, name, held string, w, h int64) {
	// The link that a board gives to a room; a server for this machine alone shows none.
	link := s.Learners[0] + "?code=" + strings.ReplaceAll(s.Code, " ", "")
	p := &phone{held: held, w: float64(w), h: float64(h)}
	pixels := 1.0
	if os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != "" {
		pixels = phonePixels
	}
	p.tab = open(t, link+"&probe=1", w, h, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(pixels))
	p.fingers = true
	p.now = p.Screen("cautions")
	p.look("cautions")
	p.to("key.tour", "tour", "tour-1")
	p.change("key.enter", "card 2 of 3")
	p.look("tour-2")
	p.change("key.enter", "card 3 of 3")
	p.look("tour-3")
	p.to("key.enter", "cautions", "")
	p.to("key.enter", "join", "")
	for _, r := range name {
		p.both("letter."+string(r), "typed", "join")
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
	p.both("key.enter", "begin", "round")
	p.do(chromedp.EmulateViewport(h, w, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(phonePixels)))
	p.w, p.h = p.h, p.w
	p.now = p.Next("the round, turned", func(e event) bool { return e.Is("screen") && drive.Inside(e, p.w, p.h) })
	p.look("turned")
	p.setFader(p.now, 0.6)
	p.both("key.enter", "verdict", "verdict")
	p.look("turned-verdict")
}

// to touches a place that leads to a screen, and looks at that if it is named.
func (p *phone) to(id, screen, name string) {
	p.T.Helper()
	p.now = p.ClickOn(p.now, id, screen)
	if name != "" {
		p.look(name)
	}
}

// change touches a place that changes the screen until that says a text: the
// same screen may be drawn again for other reasons meanwhile.
func (p *phone) change(id, text string) {
	p.T.Helper()
	x, y := p.now.Place(p.T, id)
	p.now = p.Click(x, y, func() event {
		return p.Next("screen with "+text, func(e event) bool { return e.Is("screen") && e.Says(text) })
	})
}

// both touches a place and waits for an event and the screen that follows it.
func (p *phone) both(id, name, screen string) {
	p.T.Helper()
	x, y := p.now.Place(p.T, id)
	p.now = p.Click(x, y, func() event { p.Event(name); return p.Screen(screen) })
}

// set begins a round and sets its fader.
func (p *phone) set() {
	p.T.Helper()
	p.both("key.enter", "begin", "round")
	p.setFader(p.now, 0.35)
}

// take plays a round to its verdict, and looks at both if the round is named.
func (p *phone) take(name string) {
	p.T.Helper()
	p.set()
	if name != "" {
		p.look(name)
	}
	p.both("key.enter", "verdict", "verdict")
	if name != "" {
		p.look("verdict")
	}
}

// look wants everything on the screen in its place, as high as a finger and as large as an
// eye needs.
func (p *phone) look(name string) {
	p.T.Helper()
	p.Shot("phone-" + name + "-" + p.held)
	drive.Check(p.T, name+" "+p.held, p.now, fmt.Sprintf("%gx%g", p.w, p.h))
	drive.CheckHands(p.T, name+" "+p.held, p.now)
}
