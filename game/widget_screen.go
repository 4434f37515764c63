package game

import (
	"time"

	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// screen is what every screen is drawn with and worked by: the words it is
// written in, its hit areas, the picture it is drawn on, and the one sentence
// that the trainer has to tell.
type screen struct {
	*words.Speech
	areas   areas
	picture draw.Picture
	m       draw.Metrics // of the window, at the last drawing
	// note tells a probe what happens.
	note    func(event string, fields map[string]any)
	touched bool // by a finger, not a mouse, when last pressed

	notice     string // until noticeEnds
	noticeEnds time.Time
}

// newScreen is a screen whose words are w; note tells a probe what happens.
func newScreen(w *words.Speech, note func(event string, fields map[string]any)) *screen {
	return &screen{Speech: w, note: note}
}

// enter makes it another screen's: nothing of it is pointed at or has the focus.
func (s *screen) enter() {
	s.areas.leave()
	s.forget(true)
	s.redraw()
}

// draw draws the static layer of a scene, or says that the window is too small.
func (s *screen) draw(th *draw.Theme, scale float64, scene func(c *draw.Canvas)) {
	s.areas.clear()
	s.picture.Static(s.m, th, func(c *draw.Canvas) {
		if s.m.TooSmall {
			c.M.Unit, c.M.Text = scale, 1
			c.M.W, c.M.H = float64(s.m.PxW)/scale, float64(s.m.PxH)/scale
			c.Middle(c.M.W/2, c.M.H/2, c.Block(s.Say("window.small"), c.M.W-24, draw.Style{Size: 15, Color: th.Ink, Align: draw.Middle}))
			return
		}
		scene(c)
		s.areas.order()
		if h, ok := s.areas.focused(); ok {
			c.Frame(h.Grow(3), 8, 3, th.Amber)
		}
	})
}

// noticeTime is how long a sentence is shown.
const noticeTime = 12 * time.Second

// tell shows one sentence for a while.
func (s *screen) tell(sentence string) { s.tellFor(noticeTime, sentence) }

// tellFor shows one sentence for so long.
func (s *screen) tellFor(d time.Duration, sentence string) {
	s.notice, s.noticeEnds = sentence, time.Now().Add(d)
	s.redraw()
	s.note("notice", map[string]any{"text": sentence})
}

// forget takes the sentence away once it has stood long enough, or once it has
// been seen on the screen before.
func (s *screen) forget(seen bool) {
	left := time.Until(s.noticeEnds)
	if s.notice != "" && (left <= 0 || seen && left < noticeTime-2*time.Second) {
		s.notice = ""
		s.redraw()
	}
}

// redraw has the static layer drawn again.
func (s *screen) redraw() { s.picture.Redraw() }

// hit makes a place on the screen one that can be pressed.
func (s *screen) hit(c *draw.Canvas, name, label string, place draw.Rect, do func()) {
	c.List(name, draw.RoleButton, label, place)
	s.areas.add(name, place, do)
}

// field makes a place on the screen one that is typed into once it is pressed.
func (s *screen) field(c *draw.Canvas, name, label string, place draw.Rect, do func()) {
	c.List(name, draw.RoleField, label, place)
	s.areas.add(name, place, do)
}
