package game

import "math"

// drawPhone is the fields and the button on a phone: one under the other, or in
// a row where the letters take the height.
func (s *joinScene) drawPhone(g *Game, c *canvas, bar float64) {
	point := c.m.finger / fingerPoints
	bw := c.width(s.bigWord(g), style{size: 20, bold: true}) + 40*point
	sub, note := g.say("class.join_sub"), s.note(g)
	if c.m.lying && note != "" {
		sub = note // there is no other place for it
	}
	top := g.drawHead(c, g.say("class.join"), sub, "", "") + 4
	wide := c.m.w - 2*margin
	if s.finger {
		bar = s.drawLetters(g, c, rect{margin, top, wide, bar - top})
	}
	n := float64(s.fields())
	if c.m.lying {
		const gap = 24.0
		w := (wide - bw - gap*n) / n
		for i := range s.fields() {
			s.drawField(g, c, i, rect{margin + (w+gap)*float64(i), top, w, bar - top})
		}
		g.button(c, "begin", rect{c.m.w - margin - bw, top + 22*c.m.text, bw, c.m.finger}, s.bigWord(g), 20, true, s.enter)
		return
	}
	st := style{size: 16, c: c.th.ink}
	bh := c.m.finger * 1.1
	h := math.Min(150*c.m.text, (bar-top-bh-16)/n)
	y := top
	for i := range s.fields() {
		s.drawField(g, c, i, rect{margin, y, wide, h})
		y += h
	}
	g.button(c, "begin", rect{margin, y, bw, bh}, s.bigWord(g), 20, true, s.enter)
	x, w := margin+bw+16*point, wide-bw-16*point
	lines := c.wrap(note, w, st)
	ty := y + bh/2 - c.lead(st)*float64(len(lines)-1)/2 + 6*c.m.text
	if len(lines) > 2 && y+bh+c.lead(st)*float64(len(c.wrap(note, wide, st))) < bar-4 { // under the button
		x, lines, ty = margin, c.wrap(note, wide, st), y+bh+c.lead(st)
	}
	for _, l := range lines {
		c.text(x, ty, l, st)
		ty += c.lead(st)
	}
}
