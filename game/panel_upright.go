package game

import "math"

// A window that is higher than wide, as a phone's: the face takes the width,
// what is moved and what is read stands under it.

// faceText is the factor on the text of a face: figures that would meet on a
// narrow arc are kept smaller.
func (c *canvas) faceText() float64 {
	if c.m.upright {
		return math.Min(c.m.text, 1.1)
	}
	return c.m.text
}

// arrangeOneUpright is one big face over a fader or two, or a number, with the
// lamp and the task beside them.
func (s *playScene) arrangeOneUpright(c *canvas, top, bar float64) {
	p := &s.pan
	free := s.faders()
	w := c.m.w - 2*margin
	share := 0.46
	if c.m.phone { // longer faders
		share = 0.42
	}
	high := math.Min(w*0.72, (p.foot.bottom()-top)*share)
	s.addFace(faceIn(rect{margin - 8, top, w + 16, high}, c.faceText()))
	under := top + high + 16
	one := 110 + 70*c.m.text
	end := 60 + 20*c.m.text // from the margin to the last fader
	if c.m.phone && len(free) > 1 {
		one, end = 150, 66
	}
	side := one * math.Max(1, float64(len(free)))
	p.foot.w -= math.Max(side, p.monitor.w) + 24
	p.bulb = lampPlace{p.foot.x + p.foot.w/2, under + 60, 40}
	p.foot.y = under + 130 + 40*c.m.text
	p.foot.h = math.Min(bar-18-p.foot.y, 220*c.m.text)
	p.foot.y = bar - 18 - p.foot.h
	bottom := p.monitor.y - 18 - 52*c.m.text
	head := 22 * c.m.text
	if len(free) > 1 {
		head = math.Max(head, c.m.finger)
	}
	for i, ch := range free {
		x := c.m.w - margin - end - one*float64(len(free)-1-i)
		sl := newFader(x, under+head+24, bottom)
		sl.small, sl.width = one == 150, one
		s.addFader(sl, ch, rect{x - 70, under - 2, 136, head})
		if c.m.phone && len(free) == 1 {
			p.sliders[i].head = rect{c.m.w - margin - one, under - 2, one, head}
		}
	}
	if c.m.phone { // the lamp in the middle of its place, and large
		p.bulb = lampPlace{p.foot.x + p.foot.w/2, (under+p.foot.y)/2 - 16*c.m.text, 56}
	}
}

// arrangeTrustUpright is the drill's own needles one over the other.
func (s *playScene) arrangeTrustUpright(c *canvas, top float64) {
	p, n := &s.pan, s.job.view().Needles
	if c.m.phone {
		s.footOverMonitor(c)
	}
	h := (p.foot.y - top - 10) / float64(n)
	name := 40 * c.m.text
	for i := range n {
		a := rect{margin, top + h*float64(i) + name, c.m.w - 2*margin, h - name - 14}
		p.faces = append(p.faces, dial{face: faceIn(a, c.faceText()), sources: []int{i}})
	}
}

// footOverMonitor gives the task the whole width, over the monitor control.
func (s *playScene) footOverMonitor(c *canvas) {
	p := &s.pan
	h := 28 + 3*c.lead(style{size: 16})
	p.foot = rect{margin, p.monitor.y - 12 - h, c.m.w - 2*margin, h}
}
