// Package widget is what screens are made of: needle faces, the lamp, sliders, the
// strip of the last seconds, the key bar, rows and buttons. Each is a drawing
// without a state of its own.
package widget

import (
	"time"

	"slowneedle/audio/source"
	"slowneedle/game/beside"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/words"
)

// Screen is what every screen is drawn with and worked by: the words it is
// written in, its hit areas, the picture it is drawn on, and the one sentence
// that the trainer has to tell.
type Screen struct {
	*words.Speech
	Areas   hand.Areas
	Picture draw.Picture
	M       draw.Metrics // of the window, at the last drawing
	// note tells a probe what happens.
	Note    func(event string, fields map[string]any)
	Touched bool // by a finger, not a mouse, when last pressed

	Notice     string // until noticeEnds
	noticeEnds time.Time
	asks       bool    // the notice asks for something: what is done next ends it
	told       int     // notices so far
	framed     bool    // the screen shows it in a place of its own
	bar        float64 // where the keys begin

	beside beside.Queue
}

// NewScreen is a screen whose words are w; note tells a probe what happens.
func NewScreen(w *words.Speech, note func(event string, fields map[string]any)) *Screen {
	return &Screen{Speech: w, Note: note, beside: beside.New()}
}

// Beside has work done beside the window's thread, and what it returns on that thread by
// an update, whatever screen is shown then.
func (s *Screen) Beside(work func() (then func())) { s.beside.Do(work) }

// Update does what work beside has led to.
func (s *Screen) Update() { s.beside.Update() }

// Enter makes it another screen's: nothing of it is pointed at or has the focus.
func (s *Screen) Enter() {
	s.Areas.Leave()
	s.Forget(true)
	s.Redraw()
}

// DrawStatic draws the static layer of a scene.
func (s *Screen) DrawStatic(th *draw.Theme, scene func(c *draw.Canvas)) {
	s.Areas.Clear()
	s.Picture.Static(s.M, th, func(c *draw.Canvas) { s.DrawScene(c, scene) })
}

// DrawScene draws what does not move of a scene, or a sentence where the window is
// too small.
func (s *Screen) DrawScene(c *draw.Canvas, scene func(c *draw.Canvas)) {
	if c.M.TooSmall {
		st := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Middle}
		c.Middle(c.M.W/2, c.M.H/2, c.Shrink(s.Say("window.small"), c.M.W-24, st, 9, func(b draw.Block) bool { return b.Height() < c.M.H-24 }))
		return
	}
	s.framed = false
	scene(c)
	s.DrawNotice(c)
	s.Areas.Order()
	if h, ok := s.Areas.Focused(); ok {
		c.Frame(h.Grow(3), 8, 3, c.Theme.Focus)
	}
}

// NoticeTime is how long a sentence is shown.
const NoticeTime = 12 * time.Second

// Tell shows one sentence for a while.
func (s *Screen) Tell(sentence string) { s.TellFor(NoticeTime, sentence) }

// TellFor shows one sentence for so long.
func (s *Screen) TellFor(d time.Duration, sentence string) {
	s.Notice, s.noticeEnds, s.asks = sentence, time.Now().Add(d), false
	s.told++
	s.Redraw()
	s.Note("notice", map[string]any{"text": sentence})
}

// AskFor shows one sentence for so long, or until something is done.
func (s *Screen) AskFor(d time.Duration, sentence string) {
	s.TellFor(d, sentence)
	s.asks = true
}

// Asks reports whether a sentence stands that asks for what is done next.
func (s *Screen) Asks(sentence string) bool { return s.asks && s.Notice == sentence }

// Told counts the sentences so far.
func (s *Screen) Told() int { return s.told }

// Done takes away a sentence that asked for something, if none has come since so many
// were told.
func (s *Screen) Done(told int) {
	if s.asks && s.told == told && s.Notice != "" {
		s.Notice = ""
		s.Redraw()
	}
}

// Forget takes the sentence away once it has stood long enough, or once it has
// been seen on the screen before.
func (s *Screen) Forget(seen bool) {
	left := time.Until(s.noticeEnds)
	if s.Notice != "" && (left <= 0 || seen && left < NoticeTime-2*time.Second) {
		s.Notice = ""
		s.Redraw()
	}
}

// Redraw has the static layer drawn again.
func (s *Screen) Redraw() { s.Picture.Redraw() }

// FamilyIn names a family of sources in a width: by a short form where there is no more
// room.
func (s *Screen) FamilyIn(c *draw.Canvas, f source.Family, w float64, st draw.Style) string {
	if name := s.Say("family." + string(f)); c.Width(name, st) <= w {
		return name
	}
	return s.Say("short." + string(f))
}

// Hit makes a place on the screen one that can be pressed.
func (s *Screen) Hit(c *draw.Canvas, name, label string, place draw.Rect, do func()) {
	s.hit(c, draw.Item{Name: name, Role: draw.RoleButton, Label: label, Place: place}, do)
}

// HitOn is Hit for a place that stands for something chosen, or not.
func (s *Screen) HitOn(c *draw.Canvas, name, label string, on bool, place draw.Rect, do func()) {
	s.hit(c, draw.Item{Name: name, Role: draw.RoleButton, Label: label, On: on, Place: place}, do)
}

// HitField makes a place on the screen one that is typed into once it is pressed.
func (s *Screen) HitField(c *draw.Canvas, name, label, value string, place draw.Rect, do func()) {
	s.hit(c, draw.Item{Name: name, Role: draw.RoleField, Label: label, Value: value, Place: place}, do)
}

func (s *Screen) hit(c *draw.Canvas, i draw.Item, do func()) {
	c.List(i)
	s.Areas.Add(i.Name, i.Place, do)
}
