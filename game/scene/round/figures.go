package round

import (
	"image/color"
	"math"

	"slowneedle/drills"
	"slowneedle/game/draw"
)

// figure is one line of the verdict's numbers.
type figure struct {
	name, value string
	c           color.NRGBA
}

// figures are the numbers of a verdict as its drill lists them.
func (s *Verdict) figures(c *draw.Canvas) []figure {
	tones := map[drills.Tone]color.NRGBA{
		drills.ToneNone: c.Theme.Ink, drills.ToneGood: c.Theme.Teal, drills.ToneWarn: c.Theme.Amber, drills.ToneBad: c.Theme.Brick,
	}
	var all []figure
	for _, f := range s.A.Figures(s.Verdict) {
		all = append(all, figure{s.Put(f.Name), s.Figure(f), tones[f.Tone]})
	}
	return all
}

// figureGap is the gap between two columns of figures, halfSize their size there.
const figureGap, halfSize = 28.0, 14.0

// halves reports whether the figures fit in half of a width.
func (s *Verdict) halves(c *draw.Canvas, rows []figure, w float64) bool {
	for _, row := range rows {
		name, value := c.Width(row.name, draw.Style{Size: halfSize}), c.Width(row.value, draw.Style{Size: halfSize, Bold: true})
		if name+value+8 > (w-figureGap)/2 {
			return false
		}
	}
	return true
}

// drawFigures lists the verdict's figures in one column or, where they do not
// have room in one, in two. Of those that have no room at all the last go: they
// matter least.
func (s *Verdict) drawFigures(c *draw.Canvas, r draw.Rect, rows []figure) {
	small := draw.Style{Size: halfSize}
	columns, size := 1, 20/math.Sqrt(c.M.Text)
	if (c.M.Portrait || c.Size(small)*1.4*float64(len(rows)) > r.H) && s.halves(c, rows, r.W) {
		columns, size = 2, halfSize*1.1
	}
	most := int(r.H / (c.Size(small) * 1.25))
	lines := min(most, (len(rows)+columns-1)/columns)
	if lines == 0 {
		return
	}
	step := math.Min(r.H/float64(lines), math.Max(56, 40*c.M.Text))
	size = math.Max(math.Min(size, step*0.5/c.M.Text), c.M.Least/c.M.Text)
	value := draw.Style{Size: size, Bold: true, Align: draw.Right}
	name := draw.Style{Size: math.Max(size*0.8, math.Min(size, c.M.Least/c.M.Text)), Color: c.Theme.Dim}
	for i, row := range rows[:min(len(rows), lines*columns)] {
		at := r.Columns(columns, figureGap)[i/lines]
		y := r.Y + step*float64(i%lines)
		base := y + step/2 + c.Size(value)*0.36
		value.Color = row.c
		wide := math.Min(c.Width(row.value, value), at.W-24)
		c.Fit(at.Right(), base, wide, row.value, value)
		c.Fit(at.X, base, at.W-wide-10, row.name, name)
		c.Rule(at.X, at.Right(), y+step*0.97, 1, c.Theme.Faint)
	}
}
