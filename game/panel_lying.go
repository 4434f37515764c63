package game

import (
	"math"

	"slowneedle/game/draw"
)

// A phone on its side: what is moved takes the whole height, and the task and
// the monitor control share the foot.

// arrangeLying places everything between a top and the bar.
func (s *playScene) arrangeLying(c *draw.Canvas, top, bar float64) {
	p, v := &s.pan, s.job.view()
	p.foot.H = math.Max(c.M.Finger, 16+2*c.Lead(draw.Style{Size: 16}))
	p.foot.Y = bar - 10 - p.foot.H
	p.foot.W -= p.monitor.W + 16
	p.monitor.Y = p.foot.Y + (p.foot.H-p.monitor.H)/2
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-10-top)
	switch {
	case v.Needles > 0:
		s.arrangeTrustLying(c, place)
	case v.PerChannel && len(s.job.strips()) > manyChannels:
		s.arrangeMany(c, place)
	case v.PerChannel:
		s.arrangeChannelsLying(c, place)
	default:
		s.arrangeOneLying(c, place, bar)
	}
}

// arrangeOneLying is one face, the lamp, and a fader or two, or a number, down
// to the bar.
func (s *playScene) arrangeOneLying(c *draw.Canvas, r draw.Rect, bar float64) {
	p := &s.pan
	free := s.faders()
	one := 124 + 40*c.M.Text
	if s.job.ask().Number {
		one += 50 // its name is longer
	}
	side := one * math.Max(1, float64(len(free)))
	p.foot.W -= side + 16
	p.monitor.X -= side + 16
	r.W -= side + 16
	area := draw.R(r.X-8, r.Y-10, r.W+16, r.H+10)
	if p.lamp {
		lamp := 60 + 60*c.M.Text
		p.bulb = lampPlace{r.Right() - lamp/2, r.Y + 44, 28}
		area.W -= lamp
	}
	s.addFace(faceIn(area, c.M.Text))
	head := 22 * c.M.Text
	if len(free) > 1 {
		head = c.M.Finger
	}
	for i, ch := range free {
		x := c.M.W - draw.Margin - 56 - 20*c.M.Text - one*float64(len(free)-1-i)
		sl := newFader(x, r.Y+head+20, bar-30-44*c.M.Text)
		sl.small, sl.width = len(free) > 1, one
		s.addFader(sl, ch, draw.R(c.M.W-draw.Margin-one*float64(len(free)-i)+6, r.Y-2, one-6, head))
	}
}

// arrangeChannelsLying is a small face beside a fader for each channel.
func (s *playScene) arrangeChannelsLying(c *draw.Canvas, r draw.Rect) {
	p := &s.pan
	if p.lamp {
		lamp := 40 + 66*c.M.Text
		p.bulb = lampPlace{r.Right() - lamp/2, r.Y + 44, 28}
		r.W -= lamp + 16
	}
	all := s.job.strips()
	w := r.W / float64(len(all))
	head := 26 * c.M.Text
	const fader = 110.0 // width beside the face
	read := 34 * c.M.Text
	for i, st := range all {
		wide := math.Min(w-fader-8, 260)
		x := r.X + w*(float64(i)+0.5) - (wide+fader)/2
		face := draw.R(x+4, r.Y+head+4, wide, r.H-head-4-read)
		f := faceIn(face, 0)
		f.r = math.Min((face.W-20)/(2*math.Sin(sweepAngle/2)), (face.H-26)/0.7)
		f.cx, f.cy = face.X+face.W/2, face.Y+24+f.r
		f.bottom = math.Min(face.Bottom(), f.cy-f.r*0.3)
		f.area.H = f.bottom - f.area.Y
		p.faces = append(p.faces, dial{face: f, sources: []int{i}, small: true})
		sl := newFader(face.Right()+fader*0.62, r.Y+head+24, r.Bottom()-16)
		sl.small, sl.width = true, fader
		p.sliders = append(p.sliders, strip{slider: sl, channel: i, fixed: st.Fixed, label: st.Label,
			head: draw.R(x+4, r.Y, face.W+fader-8, head),
			pick: draw.R(x+4, r.Y, face.W, face.Bottom()-r.Y),
			read: draw.R(x+4, r.Bottom()-read, face.W, read)})
	}
}

// arrangeTrustLying is the drill's own needles side by side.
func (s *playScene) arrangeTrustLying(c *draw.Canvas, r draw.Rect) {
	p, n := &s.pan, s.job.view().Needles
	p.trust, p.lamp = true, false
	w := (r.W + 20) / float64(n)
	name := 38 * c.M.Text
	for i := range n {
		a := draw.R(r.X+w*float64(i), r.Y+name, w-20, r.H-name)
		f := faceIn(a, 0.75*c.M.Text)
		p.faces = append(p.faces, dial{face: f, sources: []int{i}})
	}
}
