package widget

import (
	"math"
	"slices"

	"slowneedle/game/draw"
)

// DrawHead writes a screen's title with a line under it, and two on the right, and
// returns the y below. On a phone on its side it is one line, if that has room for all
// four; where there is little width, each is a line of its own.
func (s *Screen) DrawHead(c *draw.Canvas, title, sub, rightTitle, rightSub string) float64 {
	const gap = 24
	head := draw.Style{Size: 26, Color: c.Theme.Ink, Bold: true, Said: draw.Heading}
	side := draw.Style{Size: 17, Color: c.Theme.Ink, Align: draw.Right}
	under := draw.Style{Size: 15, Color: c.Theme.Dim}
	far := under
	far.Align = draw.Right
	w, right := c.M.W-2*draw.Margin, c.M.W-draw.Margin
	y, lead := 22+36*math.Sqrt(c.M.Text), 25*c.M.Text
	if c.M.Landscape { // under the marks of a practice
		head.Size, y, lead = 24, 32*c.M.Text, 22*c.M.Text
	}
	wide := c.Width(title, head)
	if c.M.Landscape && wide+c.Width(sub, under)+c.Width(rightTitle, side)+c.Width(rightSub, far)+3*gap <= w {
		c.Text(draw.Margin, y, title, head)
		c.Text(draw.Margin+wide+gap, y, sub, under)
		c.Text(right, y, rightSub, far)
		if rightSub != "" {
			right -= c.Width(rightSub, far) + gap
		}
		c.Text(right, y, rightTitle, side)
		return y + lead
	}
	if !c.M.Portrait {
		c.Fit(draw.Margin, y, w/2, title, head)
		c.Fit(right, y, w/2, rightTitle, side)
		y += lead
		left, rest := c.Share(w-gap, sub, under, rightSub, far)
		if left < 0.9*c.Width(sub, under) { // too small to be read: a line each
			c.Fit(draw.Margin, y, w, sub, under)
			left, rest, sub = 0, w, ""
			y += c.Lead(under)
		}
		c.Fit(draw.Margin, y, left, sub, under)
		c.Fit(right, y, rest, rightSub, far)
		return y + 20
	}
	c.Fit(draw.Margin, y, w*0.66, title, head)
	lines := []string{sub, rightSub}
	if room := w - math.Min(wide, w*0.66) - gap; c.Width(rightTitle, side) > room {
		lines = []string{sub, rightTitle, rightSub}
	} else {
		c.Text(right, y, rightTitle, side)
	}
	for _, l := range lines {
		if b := c.Block(l, w, under); l != "" {
			b.Lead = 24 * c.M.Text
			y = c.Print(draw.Margin, y+b.Lead, b) - b.Lead
		}
	}
	return y + 20
}

// DrawNotice shows the one sentence the trainer has to tell, over the screen and above
// its bar, unless the screen has shown it in a place of its own.
func (s *Screen) DrawNotice(c *draw.Canvas) {
	if s.Notice == "" || s.framed {
		return
	}
	st := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Middle, Said: draw.Live}
	w := math.Min(c.M.W-2*draw.Margin, 900)
	text := c.Block(s.Notice, w-48, st)
	h := math.Max(24+text.Height(), c.M.Finger)
	r := draw.R((c.M.W-w)/2, math.Max(8, s.bar-10-h), w, h)
	s.FrameNotice(c, r)
	c.Middle(c.M.W/2, r.Y+h/2, text)
}

// FrameNotice draws the ground of that sentence, which a press takes away.
func (s *Screen) FrameNotice(c *draw.Canvas, r draw.Rect) {
	c.Fill(r, 8, c.Theme.Panel)
	c.Frame(r, 8, 2, c.Theme.Ink)
	s.framed = true
	s.Hit(c, "notice", s.Notice, r, func() { s.Notice = "" })
}

// Button is a place with a word on it, filled when it is the main one.
func (s *Screen) Button(c *draw.Canvas, id string, r draw.Rect, label string, size float64, main bool, do func()) {
	s.Sign(c, id, r, label, label, size, main, do)
}

// BigButton is the button that a screen is about, at the left of a row, with a note
// beside it where that has room.
func (s *Screen) BigButton(c *draw.Canvas, r draw.Rect, id, label string, do func(), note string, st draw.Style) {
	const gap = 22
	w := math.Min(r.W, c.Width(label, draw.Style{Size: 24, Bold: true})+100)
	s.Button(c, id, draw.R(r.X, r.Y, w, r.H), label, 24, true, do)
	if left := r.W - w - gap; left > 90*c.M.Text {
		c.FitLines(r.X+w+gap, r.Y+r.H/2, left, note, st)
	}
}

// Sign is a button with a sign on it; label is what it is called.
func (s *Screen) Sign(c *draw.Canvas, id string, r draw.Rect, sign, label string, size float64, main bool, do func()) {
	s.Hit(c, id, label, r, do)
	s.drawPressable(c, id, r, 10, main, sign, draw.Style{Size: size, Bold: main})
}

// drawPressable draws a place that can be pressed, with a label: filled when it is on,
// and marked when it is pointed at.
func (s *Screen) drawPressable(c *draw.Canvas, name string, r draw.Rect, radius float64, on bool, label string, st draw.Style) {
	st.Color, st.Align = c.Theme.Ink, draw.Middle
	switch {
	case on:
		c.Fill(r, radius, c.Theme.Ink)
		st.Color = c.Theme.Ground
	case s.Areas.Hovered(name):
		c.Fill(r, radius, c.Theme.Panel)
	}
	if !on {
		c.Frame(r, radius, 1.5, c.Theme.Dim)
	}
	c.Fit(r.X+r.W/2, r.Y+r.H/2+c.Size(st)*0.35, r.W-8, label, st)
}

// DrawEmpty writes what a screen has to say that has nothing to show yet, in its middle.
func (s *Screen) DrawEmpty(c *draw.Canvas, top, bar float64, text string) {
	w := math.Min(c.M.W-4*draw.Margin, 900*c.M.Text)
	c.Middle(c.M.W/2, (top+bar)/2, c.Shrink(text, w, draw.Style{Size: 22, Color: c.Theme.Dim, Align: draw.Middle}, 11, func(b draw.Block) bool {
		return b.Height() < bar-top-20
	}).Cut(bar-top-20))
}

// Choice is one of several values of a setting.
type Choice struct{ Value, Label string }

// NextChoice is the value by steps behind another; past the end it begins again.
func NextChoice(all []Choice, now string, by int) string {
	n := len(all)
	at := slices.IndexFunc(all, func(c Choice) bool { return c.Value == now })
	return all[((at+by)%n+n)%n].Value
}

// ChoiceLabel is the label of a value.
func ChoiceLabel(all []Choice, value string) string {
	for _, c := range all {
		if c.Value == value {
			return c.Label
		}
	}
	return value
}

// chip is the style of a value that can be chosen: smaller on a phone, where bold words
// would touch the ends.
func chip(c *draw.Canvas) draw.Style {
	if c.M.Phone {
		return draw.Style{Size: 15}
	}
	return draw.Style{Size: 16}
}

// chipPlaces is where values to choose from stand, in rows of a width.
func chipPlaces(c *draw.Canvas, all []Choice, x, y, w float64) []draw.Rect {
	h, at := math.Max(34*c.M.Text, c.M.Finger), x
	places := make([]draw.Rect, len(all))
	for i, ch := range all {
		wide := c.Width(ch.Label, chip(c)) + 34
		if at > x && at+wide > x+w {
			at, y = x, y+h+10
		}
		places[i] = draw.R(at, y, wide, h)
		at += wide + 10
	}
	return places
}

// ChipsHigh is the height of values to choose from in a width.
func ChipsHigh(c *draw.Canvas, all []Choice, w float64) float64 {
	return chipPlaces(c, all, 0, 0, w)[len(all)-1].Bottom()
}

// Chips writes values to choose from, in rows. The chosen one is filled and bold.
func (s *Screen) Chips(c *draw.Canvas, id string, x, y, w float64, all []Choice, chosen string, choose func(value string)) {
	for i, r := range chipPlaces(c, all, x, y, w) {
		ch := all[i]
		s.Chip(c, id+"."+ch.Value, r, ch.Label, ch.Label, ch.Value == chosen, chip(c), func() { choose(ch.Value) })
	}
}

// Chip is a place with round ends that can be pressed, with a text on it; label is what it
// is called. One that is on is filled and bold.
func (s *Screen) Chip(c *draw.Canvas, name string, r draw.Rect, text, label string, on bool, st draw.Style, do func()) {
	st.Bold = on
	s.drawPressable(c, name, r, r.H/2, on, text, st)
	s.HitOn(c, name, label, on, r, do)
}
