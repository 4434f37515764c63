package round

import (
	"math"

	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

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
		s.arrangeChannels(c, place)
	default:
		s.arrangeOne(c, place, bar)
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
