package game

import (
	"math"

	"slowneedle/audio/source"
)

// half is the first of the four rows that a phone on its side has room for.
func (s *sheetScene) half() int {
	if s.second {
		return 4
	}
	return 0
}

// otherHalf goes to the rows that a phone on its side has no room for.
func (s *sheetScene) otherHalf(g *Game) []action {
	if !g.m.lying {
		return nil
	}
	return []action{{id: "half", cap: "cap.tab", label: g.say("sheet.more"), do: func(*Game) {
		s.second = !s.second
		s.at = s.half()
	}}}
}

// drawPhone is the code over the rows; on a phone that lies, over half of them.
func (s *sheetScene) drawPhone(g *Game, c *canvas, bar float64) {
	point := c.m.finger / fingerPoints
	rows := s.rows(g)
	wide := c.m.w - 2*margin
	if c.m.lying {
		const gap = 32.0
		top := g.drawHead(c, g.say("sheet.title"), g.say("sheet.sub"), "", "")
		h := math.Max(c.m.finger, (bar-top)*0.18)
		y := bar - 4*point - 3*h
		s.drawCode(g, c, rect{margin, top - 6, wide, y - top})
		w := (wide - gap) / 2
		from := s.half()
		s.drawRows(g, c, rows[from:from+4], from, 0, func(i int) rect {
			return rect{margin + (w+gap)*float64(i/2), y + h*float64(i%2), w, h}
		})
		s.drawFamilies(g, c, rect{margin, y + 2*h, wide, h}, h)
		return
	}
	top := g.drawHead(c, g.say("sheet.title"), g.say("sheet.sub"), "", "")
	h := math.Max(c.m.finger, math.Min(c.m.finger*1.15, (bar-top)*0.066))
	y := bar - 6*point - 10*h
	s.drawCode(g, c, rect{margin, top - 6, wide, y - top})
	s.drawRows(g, c, rows[:8], 0, 0, func(i int) rect { return rect{margin, y + h*float64(i), wide, h} })
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
