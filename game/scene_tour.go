package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"
)

// tourScene shows needle, lamp and fader to someone who comes for the first
// time, a card each.
type tourScene struct {
	back scene // where it was called from
	card int
}

const tourCards = 3

func tourAction(g *Game, back scene) action {
	return action{id: "tour", keys: []ebiten.Key{ebiten.KeyT}, cap: "cap.t", label: g.say("tour.offer"), do: func(g *Game) { g.enter(&tourScene{back: back}) }}
}

func (*tourScene) name() string { return "tour" }

func (s *tourScene) actions(g *Game) []action {
	next := g.say("tour.next")
	if s.card == tourCards-1 {
		next = g.say("tour.end")
	}
	step := func(by int) func(*Game) {
		return func(g *Game) {
			s.card += by
			if s.card >= tourCards {
				g.enter(s.back)
			}
		}
	}
	acts := []action{{id: "enter", keys: append([]ebiten.Key{ebiten.KeySpace, ebiten.KeyArrowRight}, enterKeys...), cap: "cap.enter", label: next, do: step(1)}}
	if s.card > 0 {
		acts = append(acts, action{id: "left", keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", label: g.say("tour.before"), do: step(-1)})
	}
	return append(acts, helpAction(g),
		action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.say("tour.leave"), do: func(g *Game) { g.enter(s.back) }})
}

func (*tourScene) update(*Game) {}

func (s *tourScene) draw(g *Game, c *canvas) {
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.say("tour.title"), g.say("tour.card", s.card+1, tourCards), "", "")
	titles := []string{g.say("tour.needle"), g.say("tour.lamp"), g.say("tour.fader")}
	texts := []string{g.say("tour.needle_text"), g.say("tour.lamp_text"), g.say("tour.fader_text")}
	w := math.Min(c.m.w-2*margin, 1040)
	big := style{size: 34 / math.Sqrt(c.m.text), c: c.th.ink, bold: true}
	body := style{size: 20 / math.Sqrt(c.m.text), c: c.th.ink}
	if c.m.phone && c.m.upright {
		body.size *= 1.2
	}
	lines := c.wrap(texts[s.card], w, body)
	y := bar - 20 - c.lead(body)*float64(len(lines)-1)
	picture := rect{margin, top + 4, c.m.w - 2*margin, y - c.lead(body) - c.lead(big) - top - 12}
	c.text(margin, y-c.lead(body)*1.15, titles[s.card], big)
	for _, l := range lines {
		c.text(margin, y, l, body)
		y += c.lead(body)
	}
	reads, bulb, peaks := -4.0, lampPlace{picture.right() - 80, picture.y + 60, 30}, picture
	peaks.w -= 200
	if c.m.phone { // nothing stands under the end of the needle
		reads = -10
	}
	if c.m.upright { // no wider than the picture, no higher than serves
		h := math.Min(picture.h, picture.w*[...]float64{0.7, 0.9, 1.1}[s.card])
		picture.y, picture.h = picture.y+(picture.h-h)*0.45, h
		bulb.y = picture.y + 50
		peaks = rect{picture.x, picture.y + 130, picture.w, h - 130}
	}
	switch s.card {
	case 0:
		f := faceIn(picture, c.faceText())
		c.drawFace(f, g.speech)
		c.drawNeedle(f, deflection(reads), 5, false, nil)
	case 1:
		s.drawPeaks(c, peaks)
		c.drawLamp(bulb, true, g.say("lamp.name", g.short(-6)), g.say("lamp.over"))
	case 2:
		f := newFader(picture.x+picture.w/2, picture.y+24, picture.bottom()-24)
		c.drawTrack(f, g.speech)
		c.fill(rect{f.x - 14, f.y(-4), 28, f.y(-8) - f.y(-4)}, 5, c.th.teal)
		c.text(f.x+50, f.y(-6)+6, g.say("verdict.right"), style{size: 17, c: c.th.teal})
		c.drawKnob(f, -12)
	}
}

// drawPeaks draws drum-like peaks with the line of a needle far below them.
func (s *tourScene) drawPeaks(c *canvas, r rect) {
	const beats, steps = 8, 40
	in := rect{r.x + 20, r.y + 30, r.w - 20, r.h - 50}
	var line []point
	at := 0.0
	for i := range beats * steps {
		x := in.x + in.w*float64(i)/(beats*steps)
		decay := math.Exp(-float64(i%steps) / 3)
		if i%3 == 0 {
			h := in.h * math.Max(0.03, decay)
			tint := c.th.faint
			if decay > 0.7 {
				tint = c.th.amber
			}
			c.fill(rect{x, in.bottom() - h, 3, h}, 0, tint)
		}
		at += (decay*0.55 - at) * 0.12
		line = append(line, point{x, in.bottom() - in.h*at})
	}
	c.path(line, 3.5, c.th.ink)
}
