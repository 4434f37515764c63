package round

import (
	"math"

	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// A phone on its side: what is moved takes the whole height, and the task and
// the monitor control share the foot.

// arrangeLandscape places everything between a top and the bar.
func (s *Scene) arrangeLandscape(c *draw.Canvas, top, bar float64) {
	p, v := &s.view, s.p.A.View
	p.foot.H = math.Max(c.M.Finger, 16+2*c.Lead(draw.Style{Size: 16}))
	p.foot.Y = bar - 10 - p.foot.H
	p.foot.W -= p.monitor.W + 16
	p.monitor.Y = p.foot.Y + (p.foot.H-p.monitor.H)/2
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-10-top)
	switch {
	case v.Needles > 0:
		s.arrangeTrustLandscape(c, place)
	case v.PerChannel && len(s.p.A.Strips) > manyChannels:
		s.arrangeMany(c, place)
	case v.PerChannel:
		s.arrangeChannelsLandscape(c, place)
	default:
		s.arrangeOneLandscape(c, place, bar)
	}
}

// arrangeOneLandscape is one face, the lamp, and a fader or two, or a number, down
// to the bar.
func (s *Scene) arrangeOneLandscape(c *draw.Canvas, r draw.Rect, bar float64) {
	p := &s.view
	n := len(s.p.Controls)
	one := 124 + 40*c.M.Text
	if s.p.A.Ask.Number {
		one += 50 // its name is longer
	}
	side := one * math.Max(1, float64(n))
	p.foot.W -= side + 16
	p.monitor.X -= side + 16
	r.W -= side + 16
	area := draw.R(r.X-8, r.Y-10, r.W+16, r.H+10)
	if p.lamp {
		lamp := 60 + 60*c.M.Text
		p.bulb = widget.LampPlace{X: r.Right() - lamp/2, Y: r.Y + 44, R: 28}
		area.W -= lamp
	}
	s.addFace(widget.FaceIn(area, c.M.Text))
	head := 22 * c.M.Text
	if n > 1 {
		head = c.M.Finger
	}
	for i := range n {
		x := c.M.W - draw.Margin - 56 - 20*c.M.Text - one*float64(n-1-i)
		sl := widget.NewFader(x, r.Y+head+20, bar-30-44*c.M.Text)
		sl.Small, sl.Width = n > 1, one
		s.addFader(sl, i, draw.R(c.M.W-draw.Margin-one*float64(n-i)+6, r.Y-2, one-6, head))
	}
}

// arrangeChannelsLandscape is a small face beside a fader for each channel.
func (s *Scene) arrangeChannelsLandscape(c *draw.Canvas, r draw.Rect) {
	p := &s.view
	if p.lamp {
		lamp := 40 + 66*c.M.Text
		p.bulb = widget.LampPlace{X: r.Right() - lamp/2, Y: r.Y + 44, R: 28}
		r.W -= lamp + 16
	}
	all := s.p.A.Strips
	w := r.W / float64(len(all))
	head := 26 * c.M.Text
	fader := math.Max(110, (36+c.Width("−36", draw.Style{Size: 13}))/0.62) // width beside the face
	read := 34 * c.M.Text
	for i := range all {
		wide := math.Min(w-fader-8, 260)
		x := r.X + w*(float64(i)+0.5) - (wide+fader)/2
		face := draw.R(x+4, r.Y+head+4, wide, r.H-head-4-read)
		f := widget.FaceIn(face, 0)
		f.R = math.Min((face.W-20)/(2*math.Sin(widget.SweepAngle/2)), (face.H-26)/0.7)
		f.Cx, f.Cy = face.X+face.W/2, face.Y+24+f.R
		f.Bottom = math.Min(face.Bottom(), f.Cy-f.R*0.3)
		f.Area.H = f.Bottom - f.Area.Y
		p.faces = append(p.faces, dial{Face: f, sources: []int{i}, small: true})
		sl := widget.NewFader(face.Right()+fader*0.62, r.Y+head+24, r.Bottom()-16)
		sl.Small, sl.Width = true, fader
		p.sliders = append(p.sliders, strip{Slider: sl,
			head: draw.R(x+4, r.Y, face.W, head),
			pick: draw.R(x+4, r.Y, face.W, face.Bottom()-r.Y),
			read: draw.R(x+4, r.Bottom()-read, face.W, read)})
	}
}

// arrangeTrustLandscape is the drill's own needles side by side.
func (s *Scene) arrangeTrustLandscape(c *draw.Canvas, r draw.Rect) {
	p, n := &s.view, s.p.A.View.Needles
	p.lamp = false
	w := (r.W + 20) / float64(n)
	name := 38 * c.M.Text
	for i := range n {
		a := draw.R(r.X+w*float64(i), r.Y+name, w-20, r.H-name)
		f := widget.FaceIn(a, 0.75*c.M.Text)
		p.faces = append(p.faces, dial{Face: f, sources: []int{i}})
	}
}
