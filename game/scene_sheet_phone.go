package game

import (
	"math"

	"slowneedle/audio/source"
	"slowneedle/game/draw"
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
	if !g.m.Landscape {
		return nil
	}
	return []action{{id: "half", cap: "cap.tab", label: g.Say("sheet.more"), do: func(*Game) {
		s.second = !s.second
		s.at = s.half()
	}}}
}

// drawPhone is the code over the rows; on a phone that lies, over half of them.
func (s *sheetScene) drawPhone(g *Game, c *draw.Canvas, bar float64) {
	point := c.M.Finger / draw.FingerPoints
	rows := s.rows(g)
	wide := c.M.W - 2*draw.Margin
	if c.M.Landscape {
		const gap = 32.0
		top := g.drawHead(c, g.Say("sheet.title"), g.Say("sheet.sub"), "", "")
		h := math.Max(c.M.Finger, (bar-top)*0.18)
		y := bar - 4*point - 3*h
		s.drawCode(g, c, draw.R(draw.Margin, top-6, wide, y-top))
		w := (wide - gap) / 2
		from := s.half()
		s.drawRows(g, c, rows[from:from+4], from, 0, func(i int) draw.Rect {
			return draw.R(draw.Margin+(w+gap)*float64(i/2), y+h*float64(i%2), w, h)
		})
		s.drawFamilies(g, c, draw.R(draw.Margin, y+2*h, wide, h), h)
		return
	}
	top := g.drawHead(c, g.Say("sheet.title"), g.Say("sheet.sub"), "", "")
	h := math.Max(c.M.Finger, math.Min(c.M.Finger*1.15, (bar-top)*0.066))
	y := bar - 6*point - 10*h
	s.drawCode(g, c, draw.R(draw.Margin, top-6, wide, y-top))
	s.drawRows(g, c, rows[:8], 0, 0, func(i int) draw.Rect { return draw.R(draw.Margin, y+h*float64(i), wide, h) })
	s.drawFamilies(g, c, draw.R(draw.Margin, y+8*h, wide, 2*h), h)
}

// familyWidth is a chip's share of a width by the length of its word.
func (s *sheetScene) familyWidth(g *Game, c *draw.Canvas, f source.Family, wide float64) float64 {
	st := draw.Style{Size: 16, Bold: true}
	all, list := 0.0, source.Generated()
	for _, o := range list {
		all += c.Width(g.Say("family."+string(o)), st)
	}
	n := float64(len(list))
	return c.Width(g.Say("family."+string(f)), st) + (wide-8*(n-1)-all)/n
}
