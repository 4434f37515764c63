package game

import (
	"math"

	"slowneedle/game/draw"
)

// step goes to the value by steps behind the chosen one, round and round.
func (p pick) step(g *Game, by int) {
	for i, ch := range p.all {
		if ch.value == p.chosen {
			p.choose(g, p.all[(i+by+len(p.all))%len(p.all)].value)
			return
		}
	}
}

// drawPhone is the first screen on a phone: the choices as chips where they all
// have room, otherwise a row each, and the big button.
func (h *homeScene) drawPhone(g *Game, c *draw.Canvas, bar float64) {
	point := c.M.Finger / draw.FingerPoints
	wide := c.M.W - 2*draw.Margin
	title := draw.Style{Size: 40 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}
	sub := draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: c.Theme.Dim}
	y := 22*point + title.Size*c.M.Text*0.72
	c.Text(draw.Margin, y, "slowneedle", title)
	about := g.Say("home.job")
	if g.rec.book != nil && g.rec.book.Len() > 0 {
		about = g.Say("home.takes", g.rec.book.Len())
	}
	if c.M.Landscape { // beside the name
		x := draw.Margin + c.Width("slowneedle", title) + 24
		if lines := c.Wrap(about, c.M.W-draw.Margin-x, sub); len(lines) < 3 {
			at := y - c.Lead(sub)*float64(len(lines)-1)/2
			for _, l := range lines {
				c.Text(x, at, l, sub)
				at += c.Lead(sub)
			}
		}
		y += 12 * point
		left := (wide - 32) * 0.56
		h.drawPicks(g, c, draw.R(draw.Margin, y, left, bar-y-4*point))
		h.drawBegin(g, c, draw.R(draw.Margin+left+32, y, wide-left-32, bar-y-8*point))
		return
	}
	foot := c.M.Finger*1.5 + 40*point
	lines := c.Wrap(about, wide, sub)
	free := bar - foot - y - 20*point - c.Lead(sub)*float64(len(lines))
	if free < h.chipsHigh(g, c, wide) && len(lines) > 1 {
		lines = nil // what it is about gives way to what there is to choose
	}
	y += 8 * point
	for _, l := range lines {
		y += c.Lead(sub)
		c.Text(draw.Margin, y, l, sub)
	}
	y += 10 * point
	place := draw.R(draw.Margin, y, wide, bar-foot-y)
	if high := h.chipsHigh(g, c, wide); place.H >= high {
		h.drawChips(g, c, place, math.Min(14*point, (place.H-high)/3))
	} else {
		h.drawPicks(g, c, place)
	}
	h.drawBegin(g, c, draw.R(draw.Margin, bar-foot, wide, foot-10*point))
}

// pickTitle is the height of what stands over a group of chips, in units of text.
const pickTitle = 26

// chipsHigh is the height that all chips need under their titles.
func (h *homeScene) chipsHigh(g *Game, c *draw.Canvas, wide float64) float64 {
	high := 0.0
	for _, p := range g.picks() {
		rows, x := 1, 0.0
		for _, ch := range p.all {
			w := chipWidth(c, ch)
			if x > 0 && x+w > wide {
				rows, x = rows+1, 0
			}
			x += w + 10
		}
		high += pickTitle*c.M.Text + (c.M.Finger+10)*float64(rows)
	}
	return high
}

func (h *homeScene) drawChips(g *Game, c *draw.Canvas, r draw.Rect, gap float64) {
	y := r.Y
	for _, p := range g.picks() {
		c.Text(r.X, y+(pickTitle-8)*c.M.Text, p.title, draw.Style{Size: 15, Color: c.Theme.Dim})
		y = g.chips(c, p.id, r.X, y+pickTitle*c.M.Text, r.W, p.all, p.chosen, p.choose) + 10 + gap
	}
}

// drawPicks is a row for each choice, with arrows.
func (h *homeScene) drawPicks(g *Game, c *draw.Canvas, r draw.Rect) {
	picks := g.picks()
	row := math.Min(c.M.Finger*1.7, r.H/float64(len(picks)))
	room := 0.0
	for _, p := range picks {
		for _, ch := range p.all {
			room = math.Max(room, setRoom(c, ch.label, row))
		}
	}
	for i, p := range picks {
		at := draw.R(r.X, r.Y+row*float64(i), r.W, row)
		g.drawRow(c, p.id, p.title, label(p.all, p.chosen), false, at, math.Min(room, r.W*0.74), true, func(by int) func(*Game) {
			return func(g *Game) { p.step(g, by) }
		})
	}
}

// drawBegin is the big button, and what it starts.
func (h *homeScene) drawBegin(g *Game, c *draw.Canvas, r draw.Rect) {
	point := c.M.Finger / draw.FingerPoints
	st := draw.Style{Size: 24, Bold: true}
	bh := c.M.Finger * 1.4
	b := draw.R(r.X, r.Y+(r.H-bh)/2, c.Width(g.Say("home.start_big"), st)+40*point, bh)
	type line struct {
		text string
		st   draw.Style
	}
	x, w := b.Right()+16*point, r.Right()-b.Right()-16*point
	if c.M.Landscape {
		x, w = r.X, r.W
	}
	var lines []line
	add := func(text string, st draw.Style) {
		if text == "" {
			return
		}
		for _, l := range c.Wrap(text, w, st) {
			lines = append(lines, line{l, st})
		}
	}
	if g.silent {
		add(g.Say("sound.none"), draw.Style{Size: 15, Color: c.Theme.Amber})
	}
	what, why := g.startWords()
	add(what, draw.Style{Size: 16, Color: c.Theme.Ink})
	add(why, draw.Style{Size: 15, Color: c.Theme.Dim})
	lead := c.Lead(draw.Style{Size: 15})
	mid := r.Y + r.H/2
	if c.M.Landscape { // over the lines
		b.W = r.W
		b.Y = r.Y + math.Max(0, (r.H-bh-10*point-lead*float64(len(lines)))/2)
		mid = b.Bottom() + 10*point + lead*float64(len(lines))/2
	}
	y := mid - lead*float64(len(lines))/2 + lead*0.74
	for _, l := range lines {
		c.Text(x, y, l.text, l.st)
		y += lead
	}
	g.button(c, "start", b, g.Say("home.start_big"), 24, true, startRound)
}
