package widget

import (
	"math"
	"strings"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
)

// barRow is the height of a row of the key bar, in units of text.
const barRow = 36

// DrawBar draws the keys of a screen along the bottom and makes their caps hot. It
// returns where they begin.
func (s *Screen) DrawBar(c *draw.Canvas, acts []hand.Action) float64 {
	if c.M.Phone {
		s.bar = s.drawButtons(c, acts)
	} else {
		s.bar = s.drawKeys(c, acts)
	}
	return s.bar
}

func (s *Screen) drawKeys(c *draw.Canvas, acts []hand.Action) float64 {
	type item struct {
		a          hand.Action
		cap        string
		capW, full float64
		row        int
		x          float64
	}
	capSt := draw.Style{Size: 14, Color: c.Theme.Ink, Align: draw.Middle}
	labSt := draw.Style{Size: 15, Color: c.Theme.Dim}
	gap := 24.0
	var items []item
	x, row := float64(draw.Margin), 0
	for _, a := range acts {
		if a.Cap == "" {
			continue
		}
		cap := s.Say(a.Cap)
		cw := max(26*c.M.Text, c.Width(cap, capSt)+16)
		full := cw
		if a.Label != "" {
			full += 8 + c.Width(a.Label, labSt)
		}
		if x > draw.Margin && x+full > c.M.W-draw.Margin {
			x, row = draw.Margin, row+1
		}
		items = append(items, item{a, cap, cw, full, row, x})
		x += full + gap
		if a.Label == "" {
			x -= gap - 6
		}
	}
	rowH := math.Max(barRow*c.M.Text, c.M.Finger)
	top := c.M.H - 22 - rowH*float64(row+1)
	c.Rule(draw.Margin, c.M.W-draw.Margin, top, 1, c.Theme.Faint)
	for _, it := range items {
		y := top + 12 + rowH*float64(it.row)
		cap := draw.R(it.x, y, it.capW, 26*c.M.Text)
		hit := math.Max(cap.H+8, c.M.Finger-1)
		s.HitOn(c, "key."+it.a.ID, s.actionName(it.a), it.a.On, draw.R(it.x, y+cap.H/2-hit/2, it.full, hit), it.a.Do)
		st := capSt
		switch {
		case it.a.On:
			c.Fill(cap, 6, c.Theme.Ink)
			st.Color, st.Bold = c.Theme.Ground, true
		case s.Areas.Hovered("key." + it.a.ID):
			c.Fill(cap, 6, c.Theme.Panel)
		}
		c.Frame(cap, 6, 1.2, c.Theme.Dim)
		c.Text(cap.X+cap.W/2, y+18*c.M.Text, it.cap, st)
		c.Text(cap.Right()+8, y+18*c.M.Text, it.a.Label, labSt)
	}
	return top
}

// actionName is what an action is called without its picture: one that shows only an
// arrow by the arrow too.
func (s *Screen) actionName(a hand.Action) string {
	if a.Label != "" && !a.Repeat {
		return a.Label
	}
	arrows := strings.NewReplacer("↑", s.Say("arrow.up"), "↓", s.Say("arrow.down"), "←", s.Say("arrow.left"), "→", s.Say("arrow.right"))
	return strings.TrimSpace(arrows.Replace(s.Say(a.Cap)) + " " + a.Label)
}

// touch is a button of a phone's bar.
type touch struct {
	a        hand.Action
	label    string
	beside   string // what it does, where the button itself shows an arrow
	w, full  float64
	st, side draw.Style
}

// drawButtons is a screen's bar on a phone: a button for each action, large
// enough for a finger, with what it does on it. It returns the bar's top.
func (s *Screen) drawButtons(c *draw.Canvas, acts []hand.Action) float64 {
	point := c.M.Finger / draw.FingerPoints
	gap := 8 * point
	if c.M.Landscape {
		gap = 6 * point
	}
	wide := c.M.W - 2*draw.Margin
	rows := touchRows(s.touches(c, acts), wide, gap)
	h := c.M.Finger
	foot := 12 * point
	top := c.M.H - foot - (h+gap)*float64(len(rows)) - gap/2
	c.Rule(draw.Margin, c.M.W-draw.Margin, top, 1, c.Theme.Faint)
	for i, row := range rows {
		y := top + gap + (h+gap)*float64(i)
		x, more := float64(draw.Margin), 0.0
		if c.M.Portrait { // the rows end under each other
			for _, t := range row {
				more -= t.full + gap
			}
			more = (more + gap + wide) / float64(len(row))
		}
		for _, t := range row {
			s.drawTouch(c, t, draw.R(x, y, t.w+more, h))
			x += t.full + more + gap
		}
	}
	return top
}

// touches are the buttons of a bar, with their widths.
func (s *Screen) touches(c *draw.Canvas, acts []hand.Action) []touch {
	point := c.M.Finger / draw.FingerPoints
	const size = 14
	pad := 14 * point
	var all []touch
	for _, a := range acts {
		if a.Cap == "" || a.KeysOnly {
			continue
		}
		t := touch{a: a, label: a.Label, st: draw.Style{Size: size, Color: c.Theme.Ink, Align: draw.Middle}, side: draw.Style{Size: size, Color: c.Theme.Dim}}
		t.st.Bold = a.ID == "enter" || a.On
		if a.Repeat {
			t.label, t.beside = s.Say(a.Cap), a.Label
			t.st.Size = 20
		}
		t.w = math.Max(c.M.Finger, c.Width(t.label, t.st)+pad)
		if t.full = t.w; t.beside != "" {
			t.full += 8*point + c.Width(t.beside, t.side)
		}
		all = append(all, t)
	}
	return all
}

// touchRows breaks buttons into as few rows as they need, as even as they can be.
func touchRows(all []touch, wide, gap float64) [][]touch {
	flow := func(wide float64) [][]touch {
		var rows [][]touch
		x := math.Inf(1)
		for _, t := range all {
			if x+t.full > wide {
				rows, x = append(rows, nil), 0
			}
			last := len(rows) - 1
			rows[last] = append(rows[last], t)
			x += t.full + gap
		}
		return rows
	}
	best := flow(wide)
	for w := wide; w > wide/4; w -= wide / 40 {
		if rows := flow(w); len(rows) == len(best) {
			best = rows
		}
	}
	return best
}

func (s *Screen) drawTouch(c *draw.Canvas, t touch, r draw.Rect) {
	id := "key." + t.a.ID
	s.HitOn(c, id, s.actionName(t.a), t.a.On, r, t.a.Do)
	switch {
	case t.a.On:
		c.Fill(r, 10, c.Theme.Ink)
		t.st.Color = c.Theme.Ground
	case t.a.ID == "enter" || s.Areas.Hovered(id):
		c.Fill(r, 10, c.Theme.Panel)
	}
	if t.a.ID == "enter" {
		c.Frame(r, 10, 3, c.Theme.Ink)
	} else {
		c.Frame(r, 10, 1.5, c.Theme.Dim)
	}
	c.Fit(r.X+r.W/2, r.Y+r.H/2+t.st.Size*c.M.Text*0.35, r.W-8, t.label, t.st)
	c.Text(r.Right()+8*c.M.Finger/draw.FingerPoints, r.Y+r.H/2+t.side.Size*c.M.Text*0.35, t.beside, t.side)
}
