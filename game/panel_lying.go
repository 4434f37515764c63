package game

import "math"

// A phone on its side: what is moved takes the whole height, and the task and
// the monitor control share the foot.

// arrangeLying places everything between a top and the bar.
func (s *playScene) arrangeLying(c *canvas, top, bar float64) {
	p, v := &s.pan, s.job.view()
	p.foot.h = math.Max(c.m.finger, 16+2*c.lead(style{size: 16}))
	p.foot.y = bar - 10 - p.foot.h
	p.foot.w -= p.monitor.w + 16
	p.monitor.y = p.foot.y + (p.foot.h-p.monitor.h)/2
	place := rect{margin, top, c.m.w - 2*margin, p.foot.y - 10 - top}
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
func (s *playScene) arrangeOneLying(c *canvas, r rect, bar float64) {
	p := &s.pan
	free := s.faders()
	one := 124 + 40*c.m.text
	if s.job.ask().Number {
		one += 50 // its name is longer
	}
	side := one * math.Max(1, float64(len(free)))
	p.foot.w -= side + 16
	p.monitor.x -= side + 16
	r.w -= side + 16
	area := rect{r.x - 8, r.y - 10, r.w + 16, r.h + 10}
	if p.lamp {
		lamp := 60 + 60*c.m.text
		p.bulb = lampPlace{r.right() - lamp/2, r.y + 44, 28}
		area.w -= lamp
	}
	s.addFace(faceIn(area, c.m.text))
	head := 22 * c.m.text
	if len(free) > 1 {
		head = c.m.finger
	}
	for i, ch := range free {
		x := c.m.w - margin - 56 - 20*c.m.text - one*float64(len(free)-1-i)
		sl := newFader(x, r.y+head+20, bar-30-44*c.m.text)
		sl.small, sl.width = len(free) > 1, one
		s.addFader(sl, ch, rect{c.m.w - margin - one*float64(len(free)-i) + 6, r.y - 2, one - 6, head})
	}
}

// arrangeChannelsLying is a small face beside a fader for each channel.
func (s *playScene) arrangeChannelsLying(c *canvas, r rect) {
	p := &s.pan
	if p.lamp {
		lamp := 40 + 66*c.m.text
		p.bulb = lampPlace{r.right() - lamp/2, r.y + 44, 28}
		r.w -= lamp + 16
	}
	all := s.job.strips()
	w := r.w / float64(len(all))
	head := 26 * c.m.text
	const fader = 110.0 // width beside the face
	read := 34 * c.m.text
	for i, st := range all {
		wide := math.Min(w-fader-8, 260)
		x := r.x + w*(float64(i)+0.5) - (wide+fader)/2
		face := rect{x + 4, r.y + head + 4, wide, r.h - head - 4 - read}
		f := faceIn(face, 0)
		f.r = math.Min((face.w-20)/(2*math.Sin(sweepAngle/2)), (face.h-26)/0.7)
		f.cx, f.cy = face.x+face.w/2, face.y+24+f.r
		f.bottom = math.Min(face.bottom(), f.cy-f.r*0.3)
		f.area.h = f.bottom - f.area.y
		p.faces = append(p.faces, dial{face: f, sources: []int{i}, small: true})
		sl := newFader(face.right()+fader*0.62, r.y+head+24, r.bottom()-16)
		sl.small, sl.width = true, fader
		p.sliders = append(p.sliders, strip{slider: sl, channel: i, fixed: st.Fixed, label: st.Label,
			head: rect{x + 4, r.y, face.w + fader - 8, head},
			pick: rect{x + 4, r.y, face.w, face.bottom() - r.y},
			read: rect{x + 4, r.bottom() - read, face.w, read}})
	}
}

// arrangeTrustLying is the drill's own needles side by side.
func (s *playScene) arrangeTrustLying(c *canvas, r rect) {
	p, n := &s.pan, s.job.view().Needles
	p.trust, p.lamp = true, false
	w := (r.w + 20) / float64(n)
	name := 38 * c.m.text
	for i := range n {
		a := rect{r.x + w*float64(i), r.y + name, w - 20, r.h - name}
		f := faceIn(a, 0.75*c.m.text)
		p.faces = append(p.faces, dial{face: f, sources: []int{i}})
	}
}
