package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// tourScene shows needle, lamp and fader to someone who comes for the first
// time, a card each.
type tourScene struct {
	back scene // where it was called from
	card int
}

const tourCards = 3

func tourAction(g *Game, back scene) action {
	return action{id: "tour", keys: []ebiten.Key{ebiten.KeyT}, cap: "cap.t", label: g.Say("tour.offer"), do: func(g *Game) { g.enter(&tourScene{back: back}) }}
}

func (*tourScene) name() string { return "tour" }

func (s *tourScene) actions(g *Game) []action {
	next := g.Say("tour.next")
	if s.card == tourCards-1 {
		next = g.Say("tour.end")
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
		acts = append(acts, action{id: "left", keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", label: g.Say("tour.before"), do: step(-1)})
	}
	return append(acts, helpAction(g),
		action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.Say("tour.leave"), do: func(g *Game) { g.enter(s.back) }})
}

func (*tourScene) update(*Game) {}

func (s *tourScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.Say("tour.title"), g.Say("tour.card", s.card+1, tourCards), "", "")
	titles := []string{g.Say("tour.needle"), g.Say("tour.lamp"), g.Say("tour.fader")}
	texts := []string{g.Say("tour.needle_text"), g.Say("tour.lamp_text"), g.Say("tour.fader_text")}
	w := math.Min(c.M.W-2*draw.Margin, 1040)
	big := draw.Style{Size: 34 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}
	body := draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: c.Theme.Ink}
	if c.M.Phone && c.M.Portrait {
		body.Size *= 1.2
	}
	lines := c.Wrap(texts[s.card], w, body)
	y := bar - 20 - c.Lead(body)*float64(len(lines)-1)
	picture := draw.R(draw.Margin, top+4, c.M.W-2*draw.Margin, y-c.Lead(body)-c.Lead(big)-top-12)
	c.Text(draw.Margin, y-c.Lead(body)*1.15, titles[s.card], big)
	for _, l := range lines {
		c.Text(draw.Margin, y, l, body)
		y += c.Lead(body)
	}
	reads, bulb, peaks := -4.0, lampPlace{picture.Right() - 80, picture.Y + 60, 30}, picture
	peaks.W -= 200
	if c.M.Phone { // nothing stands under the end of the needle
		reads = -10
	}
	if c.M.Portrait { // no wider than the picture, no higher than serves
		h := math.Min(picture.H, picture.W*[...]float64{0.7, 0.9, 1.1}[s.card])
		picture.Y, picture.H = picture.Y+(picture.H-h)*0.45, h
		bulb.y = picture.Y + 50
		peaks = draw.R(picture.X, picture.Y+130, picture.W, h-130)
	}
	switch s.card {
	case 0:
		f := faceIn(picture, faceText(c))
		drawFace(c, f, g.Speech)
		drawNeedle(c, f, deflection(reads), 5, false, nil)
	case 1:
		s.drawPeaks(c, peaks)
		drawLamp(c, bulb, true, g.Say("lamp.name", g.Short(-6)), g.Say("lamp.over"))
	case 2:
		f := newFader(picture.X+picture.W/2, picture.Y+24, picture.Bottom()-24)
		drawTrack(c, f, g.Speech)
		c.Fill(draw.R(f.x-14, f.y(-4), 28, f.y(-8)-f.y(-4)), 5, c.Theme.Teal)
		c.Text(f.x+50, f.y(-6)+6, g.Say("verdict.right"), draw.Style{Size: 17, Color: c.Theme.Teal})
		drawKnob(c, f, -12)
	}
}

// drawPeaks draws drum-like peaks with the line of a needle far below them.
func (s *tourScene) drawPeaks(c *draw.Canvas, r draw.Rect) {
	const beats, steps = 8, 40
	in := draw.R(r.X+20, r.Y+30, r.W-20, r.H-50)
	var line []draw.Point
	at := 0.0
	for i := range beats * steps {
		x := in.X + in.W*float64(i)/(beats*steps)
		decay := math.Exp(-float64(i%steps) / 3)
		if i%3 == 0 {
			h := in.H * math.Max(0.03, decay)
			tint := c.Theme.Faint
			if decay > 0.7 {
				tint = c.Theme.Amber
			}
			c.Fill(draw.R(x, in.Bottom()-h, 3, h), 0, tint)
		}
		at += (decay*0.55 - at) * 0.12
		line = append(line, draw.P(x, in.Bottom()-in.H*at))
	}
	c.Path(line, 3.5, c.Theme.Ink)
}
