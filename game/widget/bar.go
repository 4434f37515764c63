package widget

import (
	"math"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
)

// barRow is the height of a row of the key bar, in units of text.
const barRow = 36

// DrawBar draws the keys of a screen along the bottom and makes their caps hot.
// What the trainer has to tell stands over them. It returns where the place for
// the screen ends.
func (s *Screen) DrawBar(c *draw.Canvas, acts []hand.Action) float64 {
	if c.M.Phone {
		return s.drawNotice(c, s.drawButtons(c, acts))
	}
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
		s.Hit(c, "key."+it.a.ID, it.a.Label, draw.R(it.x, y+cap.H/2-hit/2, it.full, hit), it.a.Do)
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
	return s.drawNotice(c, top)
}
