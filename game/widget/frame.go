package widget

import (
	"math"
	"slices"

	"slowneedle/game/draw"
)

// DrawHead writes a screen's title, with two lines on the right.
func (s *Screen) DrawHead(c *draw.Canvas, title, sub, rightTitle, rightSub string) float64 {
	if c.M.Portrait {
		return s.drawHeadPortrait(c, title, sub, rightTitle, rightSub)
	}
	if c.M.Landscape && s.drawHeadLandscape(c, title, sub, rightTitle, rightSub) {
		return headLandscape * c.M.Text
	}
	w := (c.M.W - 2*draw.Margin) * 0.5
	y1 := 22 + 36*math.Sqrt(c.M.Text)
	y2 := y1 + 26*c.M.Text
	if c.M.Landscape {
		y1, y2 = 32*c.M.Text, 54*c.M.Text
	}
	under := draw.Style{Size: 15, Color: c.Theme.Dim}
	left, right := c.Share(c.M.W-2*draw.Margin-24, sub, under, rightSub, under)
	c.Fit(draw.Margin, y1, w, title, draw.Style{Size: 26, Color: c.Theme.Ink, Bold: true, Said: draw.Heading})
	c.Fit(draw.Margin, y2, left, sub, under)
	c.Fit(c.M.W-draw.Margin, y1, w, rightTitle, draw.Style{Size: 17, Color: c.Theme.Ink, Align: draw.Right})
	under.Align = draw.Right
	c.Fit(c.M.W-draw.Margin, y2, right, rightSub, under)
	return y2 + 20
}

// drawHeadPortrait is drawHead where there is little width: each line its own.
func (s *Screen) drawHeadPortrait(c *draw.Canvas, title, sub, rightTitle, rightSub string) float64 {
	w := c.M.W - 2*draw.Margin
	y := 22 + 36*math.Sqrt(c.M.Text)
	st := draw.Style{Size: 26, Color: c.Theme.Ink, Bold: true, Said: draw.Heading}
	used := math.Min(c.Width(title, st), w*0.66)
	c.Fit(draw.Margin, y, w*0.66, title, st)
	side := draw.Style{Size: 17, Color: c.Theme.Ink, Align: draw.Right}
	under := []string{sub, rightSub}
	if c.M.Phone && c.Width(rightTitle, side) > w-used-20 {
		under = []string{sub, rightTitle, rightSub}
	} else {
		c.Fit(c.M.W-draw.Margin, y, w-used-20, rightTitle, side)
	}
	for _, l := range under {
		b := draw.Block{Lines: []string{l}, Style: draw.Style{Size: 15, Color: c.Theme.Dim}}
		if c.M.Phone {
			b = c.Block(l, w, b.Style)
		}
		for _, l := range b.Lines {
			if l != "" {
				y += 24 * c.M.Text
				c.Fit(draw.Margin, y, w, l, b.Style)
			}
		}
	}
	return y + 20
}

// headLandscape is how far down the head of a phone on its side reaches, in units of
// text.
const headLandscape = 54

// drawHeadLandscape is drawHead in one line, where there is little height. It reports
// whether the line had room for everything; if not, nothing is drawn.
func (s *Screen) drawHeadLandscape(c *draw.Canvas, title, sub, rightTitle, rightSub string) bool {
	const gap = 24
	y := (headLandscape - 20) * c.M.Text
	big, mid, small := draw.Style{Size: 24, Color: c.Theme.Ink, Bold: true, Said: draw.Heading}, draw.Style{Size: 17, Color: c.Theme.Ink, Align: draw.Right}, draw.Style{Size: 15, Color: c.Theme.Dim}
	x, end := float64(draw.Margin), c.M.W-draw.Margin
	wide := c.Width(title, big)
	if need := wide + c.Width(sub, small) + c.Width(rightTitle, mid) + c.Width(rightSub, small) + 3*gap; need > end-x {
		return false
	}
	c.Text(x, y, title, big)
	c.Text(x+wide+gap, y, sub, small)
	small.Align = draw.Right
	c.Text(end, y, rightSub, small)
	if rightSub != "" {
		end -= c.Width(rightSub, small) + gap
	}
	c.Text(end, y, rightTitle, mid)
	return true
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

// Sign is a button with a sign on it; label is what it is called.
func (s *Screen) Sign(c *draw.Canvas, id string, r draw.Rect, sign, label string, size float64, main bool, do func()) {
	s.Hit(c, id, label, r, do)
	st := draw.Style{Size: size, Color: c.Theme.Ink, Align: draw.Middle, Bold: main}
	if main {
		c.Fill(r, 10, c.Theme.Ink)
		st.Color = c.Theme.Ground
	} else {
		if s.Areas.Hovered(id) {
			c.Fill(r, 10, c.Theme.Panel)
		}
		c.Frame(r, 10, 1.5, c.Theme.Dim)
	}
	c.Text(r.X+r.W/2, r.Y+r.H/2+size*c.M.Text*0.35, sign, st)
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

// ChipWidth is the width of a value that can be chosen.
func ChipWidth(c *draw.Canvas, ch Choice) float64 {
	return c.Width(ch.Label, draw.Style{Size: chipSize(c)}) + 34
}

// chipSize is smaller on a phone, where bold words would touch the ends.
func chipSize(c *draw.Canvas) float64 {
	if c.M.Phone {
		return 15
	}
	return 16
}

// Chips writes a row of values to choose from and returns the y below it. The
// chosen one is filled, and marked by a dot for those who see no difference.
func (s *Screen) Chips(c *draw.Canvas, id string, x, y, w float64, all []Choice, chosen string, choose func(value string)) float64 {
	st := draw.Style{Size: chipSize(c), Color: c.Theme.Ink, Align: draw.Middle}
	h := math.Max(34*c.M.Text, c.M.Finger)
	at := x
	for _, ch := range all {
		cw := ChipWidth(c, ch)
		if at > x && at+cw > x+w {
			at, y = x, y+h+10
		}
		r := draw.R(at, y, cw, h)
		name := id + "." + ch.Value
		st := st
		if ch.Value == chosen {
			c.Fill(r, h/2, c.Theme.Ink)
			st.Color, st.Bold = c.Theme.Ground, true
		} else {
			if s.Areas.Hovered(name) {
				c.Fill(r, h/2, c.Theme.Panel)
			}
			c.Frame(r, h/2, 1.2, c.Theme.Dim)
		}
		c.Text(at+cw/2, y+h/2+6*c.M.Text, ch.Label, st)
		value := ch.Value
		s.HitOn(c, name, ch.Label, ch.Value == chosen, r, func() { choose(value) })
		at += cw + 10
	}
	return y + h
}
