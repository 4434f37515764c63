package game

import (
	"math"

	"slowneedle/drills/progress"
)

// drawPhone draws the two pictures one over the other, or side by side on a
// phone that lies.
func (s *progressScene) drawPhone(g *Game, c *canvas, book *progress.Book, r rect) {
	bias, series := r, r
	if c.m.lying {
		bias.w = r.w * 0.55
		series.x, series.w = bias.right()+28, r.w-bias.w-28
		series.h -= 4
	} else {
		series.h = math.Min(220, r.h*0.25)
		series.y = r.bottom() - series.h - 6
		bias.h = series.y - r.y - 14
	}
	s.drawBiasPhone(g, c, book, bias)
	s.drawSeries(g, c, book, series)
}

// drawBiasPhone is drawBias with the numbers of a family over its line.
func (s *progressScene) drawBiasPhone(g *Game, c *canvas, book *progress.Book, r rect) {
	th, k := c.th, c.m.text
	small := style{size: 13, c: th.dim}
	y := r.y
	if c.m.upright {
		y += 20 * k
		c.fit(r.x, y, r.w, g.say("progress.where"), style{size: 17, c: th.ink})
	}
	for _, l := range c.wrap(g.say("progress.legend"), r.w, small) {
		y += 17 * k
		c.text(r.x, y, l, small)
	}
	y += 8 * k
	families := s.families(book)
	foot := 37 * k
	row := (r.bottom() - foot - y) / float64(len(families))
	plot := rect{r.x + 12, y, r.w - 24, row * float64(len(families))}
	const span = 6.0
	x := func(db float64) float64 {
		return plot.x + plot.w*(math.Max(-span, math.Min(span, db))+span)/(2*span)
	}
	// The names stand over the lines of their families, so a line is short.
	lineH := math.Max(12, row-20*k)
	axis := style{size: 14, c: th.dim, align: middle}
	for d := -span; d <= span; d += 2 {
		c.text(x(d), r.bottom()-foot+16*k, g.shortSigned(d), axis)
	}
	cold, hot := small, small
	hot.align = right
	c.text(r.x, r.bottom()-4*k, g.say("progress.cold"), cold)
	c.text(r.right(), r.bottom()-4*k, g.say("progress.hot"), hot)
	for i, f := range families {
		top := y + row*float64(i)
		sum := book.Summary(progress.Key{Drill: s.drill, Rig: s.rig, Family: f}, 0)
		name := style{size: 15, c: th.ink}
		word := g.say("family." + string(f))
		c.text(r.x, top+15*k, word, name)
		c.fit(r.right(), top+15*k, r.w-c.width(word, name)-16, g.biasNote(sum), style{size: 14, c: th.dim, align: right})
		line := rect{plot.x, top + row - lineH, plot.w, lineH - 2}
		c.fill(rect{x(-progress.CloseDB), line.y, x(progress.CloseDB) - x(-progress.CloseDB), line.h}, 4, th.band)
		for d := -span; d <= span; d += 2 {
			c.line(x(d), line.y, x(d), line.bottom(), 1, th.faint)
		}
		c.drawMean(sum, x, line.y+line.h/2, math.Min(8, line.h*0.45))
	}
}
