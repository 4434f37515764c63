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
	note func(event string, fields map[string]any)

	notice     string // until noticeEnds
	noticeEnds time.Time
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
