package widget

import (
	"math"

	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
)

// DrawMark draws how a take went, around a point: a disc is right,
// a triangle wrong, pointing down where it was too low.
func DrawMark(c *draw.Canvas, x, y, r float64, done progress.Mark) {
	tone := c.Theme.Verdict(done.Right)
	if done.Right {
		c.Disc(x, y, r, tone)
		return
	}
	if done.ErrorDB < 0 && !done.NoError {
		r = -r
	}
	wide := 1.2 * r
	c.Wedge(x-wide, y+r, x+wide, y+r, x, y-1.1*r, tone)
}

// DrawMarks draws a mark for each round of a practice over the head of a screen:
// how those played went, a dim disc where that is told at the end, and a ring for each that is ahead, the next one larger if
// it is being played.
func DrawMarks(c *draw.Canvas, p plan.Practice, playing bool) {
	y, r := 19.0, 5.0
	if c.M.Landscape {
		y, r = 6.5*c.M.Text, 3*c.M.Text
	}
	x := draw.Margin + r
	for i, done := range p.Done {
		if p.Told(i) {
			DrawMark(c, x, y, r, done.Mark)
		} else {
			c.Disc(x, y, r*0.7, c.Theme.Dim)
		}
		x += 4 * r
	}
	for i := range p.Ahead {
		if i == 0 && playing {
			c.Ring(x, y, r+1, 2.5, c.Theme.Ink)
		} else {
			c.Ring(x, y, r-1.5, 1.5, c.Theme.Dim)
		}
		x += 4 * r
	}
}

// DrawRounds draws how the rounds of a practice went against the window of each: a
// mark a round, the higher the hotter, and a ring where the learner thought to be;
// nothing where it is told at the end. It returns the places of the columns.
func DrawRounds(c *draw.Canvas, r draw.Rect, p plan.Practice) []draw.Rect {
	rounds := p.Done
	const span = 3 // windows to either side
	columns := r.Columns(len(rounds), 0)
	size := math.Max(3, math.Min(9, math.Min(r.H/(2*span+3), r.W/float64(3*len(rounds)+1))))
	mid := r.Y + r.H/2
	high := (r.H/2 - 1.2*size) / span // of half a window
	c.Fill(draw.R(r.X, mid-high, r.W, 2*high), 4, c.Theme.Band)
	c.Rule(r.X, r.Right(), mid, 1, c.Theme.Faint)
	for i, done := range rounds {
		if !p.Told(i) {
			continue
		}
		at := 0.0
		switch {
		case done.NoError && !done.Right:
			at = 2
		case !done.NoError && done.ToleranceDB > 0:
			at = done.ErrorDB / done.ToleranceDB
		}
		if done.Right {
			at = math.Max(-1, math.Min(1, at))
		} else { // clear of the window, and not out of sight
			at = math.Copysign(math.Max(1.4, math.Min(span, math.Abs(at))), at)
		}
		x := columns[i].X + columns[i].W/2
		if e := done.EstimateDB; e != nil && done.ToleranceDB > 0 {
			y := mid - high*math.Max(-span, math.Min(span, *e/done.ToleranceDB))
			c.Line(x, y, x, mid-high*at, 1.5, c.Theme.Dim)
			c.Ring(x, y, size, 2, c.Theme.Ink)
		}
		DrawMark(c, x, mid-high*at, size, done.Mark)
	}
	return columns
}
