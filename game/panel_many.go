package game

import "math"

// manyChannels is how many channels a phone has room for with a face each.
const manyChannels = 4

// arrangeMany is for more channels than a phone has faces for: narrow faders
// side by side, and one face, which shows the chosen channel.
func (s *playScene) arrangeMany(c *canvas, r rect) {
	p, k := &s.pan, c.m.text
	all := s.job.strips()
	lamp := 0.0
	if p.lamp {
		lamp = 70 + 62*k
		p.bulb = lampPlace{r.right() - lamp/2, r.y + 44, 26}
	}
	const scale = 52.0 // what the figures beside the first fader take
	face := rect{r.x - 8, r.y - 6, r.w * 0.3, r.h + 6}
	board := rect{face.right() + 8 + scale, r.y, r.right() - lamp - face.right() - 8 - scale, r.h}
	if c.m.upright {
		high := math.Min(r.h*0.38, (r.w-lamp)*0.6)
		face = rect{r.x - 8, r.y, r.w - lamp + 8, high}
		board = rect{r.x + scale, r.y + high + 8, r.w - scale, r.h - high - 8}
	}
	p.faces = []dial{{face: faceIn(face, math.Min(k, 1.1)), sources: []int{s.sel}, name: all[s.sel].Label}}
	w := board.w / float64(len(all))
	head := 26 * k
	for i, st := range all {
		x := board.x + w*float64(i)
		sl := newFader(x+w/2, board.y+head+20, board.bottom()-12-22*k)
		sl.small, sl.bare, sl.width = true, i > 0, w
		p.sliders = append(p.sliders, strip{slider: sl, channel: i, fixed: st.Fixed, label: st.Label,
			head: rect{x + 3, board.y, w - 6, head},
			pick: rect{x, board.y, w, board.h},
			read: rect{x, board.bottom() - 22*k, w, 22 * k}})
	}
}
