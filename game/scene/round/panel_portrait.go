package round

import (
	"math"

	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// A window that is higher than wide, as a phone's: the face takes the width,
// what is moved and what is read stands under it.

// arrangeOnePortrait is one big face over a fader or two, or a number, with the
// lamp and the task beside them.
func (s *Scene) arrangeOnePortrait(c *draw.Canvas, top, bar float64) {
	p := &s.view
	n := len(s.p.Controls)
	w := c.M.W - 2*draw.Margin
	share := 0.46
	if c.M.Phone { // longer faders
		share = 0.42
	}
	high := math.Min(w*0.72, (p.foot.Bottom()-top)*share)
	s.addFace(widget.FaceIn(draw.R(draw.Margin-8, top, w+16, high), widget.FaceText(c)))
	under := top + high + 16
	one := 110 + 70*c.M.Text
	end := 60 + 20*c.M.Text // from the margin to the last fader
	if c.M.Phone && n > 1 {
		one, end = 150, 66
	}
	side := one * math.Max(1, float64(n))
	p.foot.W -= math.Max(side, p.monitor.W) + 24
	p.bulb = widget.LampPlace{X: p.foot.X + p.foot.W/2, Y: under + 60, R: 40}
	p.foot.Y = under + 130 + 40*c.M.Text
	p.foot.H = math.Min(bar-18-p.foot.Y, 220*c.M.Text)
	p.foot.Y = bar - 18 - p.foot.H
	bottom := p.monitor.Y - 18 - 52*c.M.Text
	head := 22 * c.M.Text
	if n > 1 {
		head = math.Max(head, c.M.Finger)
	}
	for i := range n {
		x := c.M.W - draw.Margin - end - one*float64(n-1-i)
		sl := widget.NewFader(x, under+head+24, bottom)
		sl.Small, sl.Width = one == 150, one
		s.addFader(sl, i, draw.R(x-70, under-2, 136, head))
		if c.M.Phone && n == 1 {
			p.sliders[i].head = draw.R(c.M.W-draw.Margin-one, under-2, one, head)
		}
	}
	if c.M.Phone { // the lamp in the middle of its place, and large
		p.bulb = widget.LampPlace{X: p.foot.X + p.foot.W/2, Y: (under+p.foot.Y)/2 - 16*c.M.Text, R: 56}
	}
}

// arrangeTrustPortrait is the drill's own needles one over the other.
func (s *Scene) arrangeTrustPortrait(c *draw.Canvas, top float64) {
	p, n := &s.view, s.p.A.View.Needles
	if c.M.Phone {
		s.footOverMonitor(c)
	}
	h := (p.foot.Y - top - 10) / float64(n)
	name := 40 * c.M.Text
	for i := range n {
		a := draw.R(draw.Margin, top+h*float64(i)+name, c.M.W-2*draw.Margin, h-name-14)
		p.faces = append(p.faces, dial{Face: widget.FaceIn(a, widget.FaceText(c)), sources: []int{i}})
	}
}

// footOverMonitor gives the task the whole width, over the monitor control.
func (s *Scene) footOverMonitor(c *draw.Canvas) {
	p := &s.view
	h := 28 + 3*c.Lead(draw.Style{Size: 16})
	p.foot = draw.R(draw.Margin, p.monitor.Y-12-h, c.M.W-2*draw.Margin, h)
}
