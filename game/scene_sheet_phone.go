package game

import (
	"math"

	"slowneedle/audio/source"
)

// drawPhone is the code over the rows; on a phone that lies it stands beside the
// title, for the rows take the height.
func (s *sheetScene) drawPhone(g *Game, c *canvas, bar float64) {
	point := c.m.finger / fingerPoints
	rows := s.rows(g)
	wide := c.m.w - 2*margin
	if c.m.lying {
		const gap = 32.0
		h := math.Max(c.m.finger, (bar-90*point)/5)
		y := bar - 4*point - 5*h
		title := style{size: 24, c: c.th.ink, bold: true}
		tw := c.width(g.say("sheet.title"), title)
		c.text(margin, 14*point+title.size*c.m.text, g.say("sheet.title"), title)
		s.drawCode(g, c, rect{margin + tw + 28, 10 * point, wide - tw - 28, y - 14*point})
		w := (wide - gap) / 2
		s.drawRows(g, c, rows[:8], 0, 2*c.m.finger+20, func(i int) rect {
			return rect{margin + (w+gap)*float64(i/4), y + h*float64(i%4), w, h}
		})
		s.drawFamilies(g, c, rect{margin, y + 4*h, wide, h}, h)
		return
	}
	top := g.drawHead(c, g.say("sheet.title"), g.say("sheet.sub"), "", "")
	h := math.Max(c.m.finger, math.Min(c.m.finger*1.15, (bar-top)*0.066))
	y := bar - 6*point - 10*h
	s.drawCode(g, c, rect{margin, top - 6, wide, y - top})
	s.drawRows(g, c, rows[:8], 0, 2*c.m.finger+20, func(i int) rect { return rect{margin, y + h*float64(i), wide, h} })
	s.drawFamilies(g, c, rect{margin, y + 8*h, wide, 2 * h}, h)
}

// familyWidth is a chip's share of a width by the length of its word.
func (s *sheetScene) familyWidth(g *Game, c *canvas, f source.Family, wide float64) float64 {
	st := style{size: 16, bold: true}
	all, list := 0.0, source.Generated()
	for _, o := range list {
		all += c.width(g.say("family."+string(o)), st)
	}
	n := float64(len(list))
	return c.width(g.say("family."+string(f)), st) + (wide-8*(n-1)-all)/n
}
