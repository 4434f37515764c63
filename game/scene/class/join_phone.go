package class

import (
	"math"

	"slowneedle/game/draw"
)

// drawPhone is the fields and the button on a phone: one under the other, or in
// a row where the letters take the height.
func (s *Join) drawPhone(c *draw.Canvas, bar float64) {
	point := c.M.Finger / draw.FingerPoints
	bw := c.Width(s.bigWord(), draw.Style{Size: 20, Bold: true}) + 40*point
	sub, note := s.Say("class.join_sub"), s.Form.Line()
	if c.M.Landscape && note != "" {
		sub = note // there is no other place for it
	}
	top := s.DrawHead(c, s.Say("class.join"), sub, "", "") + 4
	wide := c.M.W - 2*draw.Margin
	if s.Finger {
		bar = s.drawLetters(c, draw.R(draw.Margin, top, wide, bar-top))
	}
	n := float64(s.Form.Fields())
	if c.M.Landscape {
		const gap = 24.0
		w := (wide - bw - gap*n) / n
		for i := range s.Form.Fields() {
			s.drawField(c, i, draw.R(draw.Margin+(w+gap)*float64(i), top, w, bar-top))
		}
		s.Button(c, "begin", draw.R(c.M.W-draw.Margin-bw, top+22*c.M.Text, bw, c.M.Finger), s.bigWord(), 20, true, s.enter)
		return
	}
	st := draw.Style{Size: 16, Color: c.Theme.Ink}
	bh := c.M.Finger * 1.1
	h := math.Min(150*c.M.Text, (bar-top-bh-16)/n)
	y := top
	for i := range s.Form.Fields() {
		s.drawField(c, i, draw.R(draw.Margin, y, wide, h))
		y += h
	}
	s.Button(c, "begin", draw.R(draw.Margin, y, bw, bh), s.bigWord(), 20, true, s.enter)
	x, w := draw.Margin+bw+16*point, wide-bw-16*point
	lines := c.Wrap(note, w, st)
	ty := y + bh/2 - c.Lead(st)*float64(len(lines)-1)/2 + 6*c.M.Text
	if len(lines) > 2 && y+bh+c.Lead(st)*float64(len(c.Wrap(note, wide, st))) < bar-4 { // under the button
		x, lines, ty = draw.Margin, c.Wrap(note, wide, st), y+bh+c.Lead(st)
	}
	for _, l := range lines {
		c.Text(x, ty, l, st)
		ty += c.Lead(st)
	}
}
