package game

import "math"

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
func (h *homeScene) drawPhone(g *Game, c *canvas, bar float64) {
	point := c.m.finger / fingerPoints
	wide := c.m.w - 2*margin
	title := style{size: 40 / math.Sqrt(c.m.text), c: c.th.ink, bold: true}
	sub := style{size: 18 / math.Sqrt(c.m.text), c: c.th.dim}
	y := 22*point + title.size*c.m.text*0.72
	c.text(margin, y, "slowneedle", title)
	about := g.say("home.job")
	if g.rec.book != nil && g.rec.book.Len() > 0 {
		about = g.say("home.takes", g.rec.book.Len())
	}
	if c.m.lying { // beside the name
		x := margin + c.width("slowneedle", title) + 24
		if lines := c.wrap(about, c.m.w-margin-x, sub); len(lines) < 3 {
			at := y - c.lead(sub)*float64(len(lines)-1)/2
			for _, l := range lines {
				c.text(x, at, l, sub)
				at += c.lead(sub)
			}
		}
		y += 12 * point
		left := (wide - 32) * 0.56
		h.drawPicks(g, c, rect{margin, y, left, bar - y - 4*point})
		h.drawBegin(g, c, rect{margin + left + 32, y, wide - left - 32, bar - y - 8*point})
		return
	}
	foot := c.m.finger*1.5 + 40*point
	lines := c.wrap(about, wide, sub)
	free := bar - foot - y - 20*point - c.lead(sub)*float64(len(lines))
	if free < h.chipsHigh(g, c, wide) && len(lines) > 1 {
		lines = nil // what it is about gives way to what there is to choose
	}
	y += 8 * point
	for _, l := range lines {
		y += c.lead(sub)
		c.text(margin, y, l, sub)
	}
	y += 10 * point
	place := rect{margin, y, wide, bar - foot - y}
	if high := h.chipsHigh(g, c, wide); place.h >= high {
		h.drawChips(g, c, place, math.Min(14*point, (place.h-high)/3))
	} else {
		h.drawPicks(g, c, place)
	}
	h.drawBegin(g, c, rect{margin, bar - foot, wide, foot - 10*point})
}

// pickTitle is the height of what stands over a group of chips, in units of text.
const pickTitle = 26

// chipsHigh is the height that all chips need under their titles.
func (h *homeScene) chipsHigh(g *Game, c *canvas, wide float64) float64 {
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
		high += pickTitle*c.m.text + (c.m.finger+10)*float64(rows)
	}
	return high
}

func (h *homeScene) drawChips(g *Game, c *canvas, r rect, gap float64) {
	y := r.y
	for _, p := range g.picks() {
		c.text(r.x, y+(pickTitle-8)*c.m.text, p.title, style{size: 15, c: c.th.dim})
		y = g.chips(c, p.id, r.x, y+pickTitle*c.m.text, r.w, p.all, p.chosen, p.choose) + 10 + gap
	}
}

// drawPicks is a row for each choice, with arrows.
func (h *homeScene) drawPicks(g *Game, c *canvas, r rect) {
	picks := g.picks()
	row := math.Min(c.m.finger*1.7, r.h/float64(len(picks)))
	room := 0.0
	for _, p := range picks {
		for _, ch := range p.all {
			room = math.Max(room, c.setRoom(ch.label, row))
		}
	}
	for i, p := range picks {
		at := rect{r.x, r.y + row*float64(i), r.w, row}
		g.drawRow(c, p.id, p.title, label(p.all, p.chosen), false, at, math.Min(room, r.w*0.74), true, func(by int) func(*Game) {
			return func(g *Game) { p.step(g, by) }
		})
	}
}

// drawBegin is the big button, and what it starts.
func (h *homeScene) drawBegin(g *Game, c *canvas, r rect) {
	point := c.m.finger / fingerPoints
	st := style{size: 24, bold: true}
	bh := c.m.finger * 1.4
	b := rect{r.x, r.y + (r.h-bh)/2, c.width(g.say("home.start_big"), st) + 40*point, bh}
	type line struct {
		text string
		st   style
	}
	x, w := b.right()+16*point, r.right()-b.right()-16*point
	if c.m.lying {
		x, w = r.x, r.w
	}
	var lines []line
	add := func(text string, st style) {
		if text == "" {
			return
		}
		for _, l := range c.wrap(text, w, st) {
			lines = append(lines, line{l, st})
		}
	}
	if g.silent {
		add(g.say("sound.none"), style{size: 15, c: c.th.amber})
	}
	what, why := g.startWords()
	add(what, style{size: 16, c: c.th.ink})
	add(why, style{size: 15, c: c.th.dim})
	lead := c.lead(style{size: 15})
	mid := r.y + r.h/2
	if c.m.lying { // over the lines
		b.w = r.w
		b.y = r.y + math.Max(0, (r.h-bh-10*point-lead*float64(len(lines)))/2)
		mid = b.bottom() + 10*point + lead*float64(len(lines))/2
	}
	y := mid - lead*float64(len(lines))/2 + lead*0.74
	for _, l := range lines {
		c.text(x, y, l.text, l.st)
		y += lead
	}
	g.button(c, "start", b, g.say("home.start_big"), 24, true, startRound)
}
