package progress

import (
	"math"

	"slowneedle/drills/progress"
	"slowneedle/game/draw"
)

// drawPhone draws the two pictures one over the other, or side by side on a
// phone that lies.
func (s *Scene) drawPhone(c *draw.Canvas, book *progress.Book, r draw.Rect) {
	bias, series := r, r
	if c.M.Landscape {
		bias.W = r.W * 0.55
		series.X, series.W = bias.Right()+28, r.W-bias.W-28
		series.H -= 4
	} else {
		series.H = math.Min(220, r.H*0.25)
		series.Y = r.Bottom() - series.H - 6
		bias.H = series.Y - r.Y - 14
	}
	s.drawBiasPhone(c, book, bias)
	s.drawSeries(c, book, series)
}

// drawBiasPhone is drawBias with the numbers of a family over its line.
func (s *Scene) drawBiasPhone(c *draw.Canvas, book *progress.Book, r draw.Rect) {
	th, k := c.Theme, c.M.Text
	small := draw.Style{Size: 13, Color: th.Dim}
	y := r.Y
	if c.M.Portrait {
		y += 20 * k
		c.Fit(r.X, y, r.W, s.Say("progress.where"), draw.Style{Size: 17, Color: th.Ink})
	}
	for _, l := range c.Wrap(s.Say("progress.legend"), r.W, small) {
		y += 17 * k
		c.Text(r.X, y, l, small)
	}
	y += 8 * k
	families := s.families(book)
	foot := 37 * k
	row := (r.Bottom() - foot - y) / float64(len(families))
	plot := draw.R(r.X+12, y, r.W-24, row*float64(len(families)))
	const span = 6.0
	x := func(db float64) float64 {
		return plot.X + plot.W*(math.Max(-span, math.Min(span, db))+span)/(2*span)
	}
	// The names stand over the lines of their families, so a line is short.
	lineH := math.Max(12, row-20*k)
	axis := draw.Style{Size: 14, Color: th.Dim, Align: draw.Middle}
	for d := -span; d <= span; d += 2 {
		c.Text(x(d), r.Bottom()-foot+16*k, s.ShortSigned(d), axis)
	}
	cold, hot := small, small
	hot.Align = draw.Right
	c.Text(r.X, r.Bottom()-4*k, s.Say("progress.cold"), cold)
	c.Text(r.Right(), r.Bottom()-4*k, s.Say("progress.hot"), hot)
	for i, f := range families {
		top := y + row*float64(i)
		sum := book.Summary(progress.Key{Drill: s.drill, Rig: s.rig, Family: f}, 0)
		name := draw.Style{Size: 15, Color: th.Ink}
		word := s.Say("family." + string(f))
		c.Text(r.X, top+15*k, word, name)
		c.Fit(r.Right(), top+15*k, r.W-c.Width(word, name)-16, s.BiasNote(sum), draw.Style{Size: 14, Color: th.Dim, Align: draw.Right})
		line := draw.R(plot.X, top+row-lineH, plot.W, lineH-2)
		c.Fill(draw.R(x(-progress.CloseDB), line.Y, x(progress.CloseDB)-x(-progress.CloseDB), line.H), 4, th.Band)
		for d := -span; d <= span; d += 2 {
			c.Line(x(d), line.Y, x(d), line.Bottom(), 1, th.Faint)
		}
		drawMean(c, sum, x, line.Y+line.H/2, math.Min(8, line.H*0.45))
	}
}
