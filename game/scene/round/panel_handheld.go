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

// footOverMonitor gives the task the whole width, over the monitor control.
func (s *Scene) footOverMonitor(c *draw.Canvas) {
	p := &s.view
	h := 28 + 3*c.Lead(draw.Style{Size: 16})
	p.foot = draw.R(draw.Margin, p.monitor.Y-12-h, c.M.W-2*draw.Margin, h)
}

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
	case s.asks():
		s.arrangeAnswers(c, place)
	case s.stages():
		s.arrangeStages(c, place)
	case v.PerChannel && len(s.p.A.Channels) > manyChannels:
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
		p.bulb = widget.LampPlace{X: r.Right() - lamp/2, Y: r.Y + 62, R: 46}
		r.W -= lamp + 16
	}
	all := s.p.A.Channels
	w := r.W / float64(len(all))
	head := 26 * c.M.Text
	fader := math.Max(110, (36+c.Width("−36", draw.Style{Size: 13}))/0.62) // width beside the face
	read := 34 * c.M.Text
	for i := range all {
		wide := math.Min(w-fader-8, 260)
		x := r.X + w*(float64(i)+0.5) - (wide+fader)/2
		face := draw.R(x+4, r.Y+head+4, wide, r.H-head-4-read)
		f := widget.SmallFaceIn(c, face)
		p.faces = append(p.faces, dial{Face: f, sources: []int{i}})
		sl := widget.NewFader(face.Right()+fader*0.62, r.Y+head+24, r.Bottom()-16)
		sl.Small, sl.Width = true, fader
		p.sliders = append(p.sliders, controlPlace{Slider: sl,
			head: draw.R(x+4, r.Y, face.W, head),
			pick: draw.R(x+4, r.Y, face.W, face.Bottom()-r.Y),
			read: draw.R(x+4, r.Bottom()-read, face.W, read)})
	}
}

// manyChannels is how many channels a phone has room for with a face each.
const manyChannels = 4

// arrangeMany is for more channels than a phone has faces for: narrow faders
// side by side, and one face, which shows the chosen channel.
func (s *Scene) arrangeMany(c *draw.Canvas, r draw.Rect) {
	p, k := &s.view, c.M.Text
	all := s.p.A.Channels
	lamp := 0.0
	if p.lamp {
		lamp = 70 + 62*k
		p.bulb = widget.LampPlace{X: r.Right() - lamp/2, Y: r.Y + 62, R: 48}
	}
	const scale = 52.0 // what the figures beside the first fader take
	face := draw.R(r.X-8, r.Y-6, r.W*0.3, r.H+6)
	board := draw.R(face.Right()+8+scale, r.Y, r.Right()-lamp-face.Right()-8-scale, r.H)
	if c.M.Portrait {
		high := math.Min(r.H*0.38, (r.W-lamp)*0.6)
		face = draw.R(r.X-8, r.Y, r.W-lamp+8, high)
		board = draw.R(r.X+scale, r.Y+high+8, r.W-scale, r.H-high-8)
	}
	p.faces = []dial{{Face: widget.FaceIn(face, math.Min(k, 1.1)), sources: []int{s.p.Chosen}, name: s.Part(all[s.p.Chosen].Label)}}
	w := board.W / float64(len(all))
	head := 26 * k
	for i := range all {
		x := board.X + w*float64(i)
		sl := widget.NewFader(x+w/2, board.Y+head+20, board.Bottom()-12-22*k)
		sl.Small, sl.Bare, sl.Width = true, i > 0, w
		p.sliders = append(p.sliders, controlPlace{Slider: sl,
			head: draw.R(x+3, board.Y, w-6, head),
			pick: draw.R(x, board.Y, w, board.H),
			read: draw.R(x, board.Bottom()-22*k, w, 22*k)})
		if i == 0 { // beside its figures
			p.sliders[0].pick = draw.R(math.Max(x, sl.X-26), board.Y, x+w-math.Max(x, sl.X-26), board.H)
		}
	}
}
