package game

import (
	"slowneedle/game/draw"
)

// lampGate decides when the lamp on the screen is filled. In the reduced mode
// it starts at most three flashes in any second and holds each for 0.3 s
// (WCAG 2.2, success criterion 2.3.1: no more than three general flashes in
// any one-second period). Times are seconds on any steady clock.
type lampGate struct {
	reduced bool
	lit     bool
	since   float64 // start of the last flash
	last    float64 // last time a peak was over the threshold
	started bool
}

const (
	reducedHold   = 0.3
	reducedPeriod = 0.4 // between the starts of two flashes: 2.5 a second, so that three stay three when frames come late
)

// show returns whether the lamp is filled at a time, given that the meter's
// lamp is lit there.
func (g *lampGate) show(now float64, lit bool) bool {
	if !g.reduced {
		g.lit = lit
		return lit
	}
	if lit {
		g.last = now
	}
	switch {
	case !g.lit && lit && (!g.started || now-g.since >= reducedPeriod):
		g.lit, g.since, g.started = true, now, true
	case g.lit && now-g.last >= reducedHold && now-g.since >= reducedHold:
		g.lit = false
	}
	return g.lit
}

// lampPlace is where a lamp and its word stand.
type lampPlace struct{ x, y, r float64 }

func (l lampPlace) area(text float64) draw.Rect {
	w := l.r + 12 + 75*text
	return draw.R(l.x-w, l.y-l.r-12, 2*w, 2*l.r+34+16*text)
}

// drawLamp draws a ring that fills, with a word in it while it is filled.
func drawLamp(c *draw.Canvas, l lampPlace, lit bool, name, over string) {
	st := draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Middle}
	if lit {
		c.Disc(l.x, l.y, l.r, c.Theme.Amber)
		c.Fit(l.x, l.y+5*c.M.Text, 2*l.r-4, over, draw.Style{Size: 17, Color: c.Theme.Ground, Bold: true, Align: draw.Middle})
		st.Color = c.Theme.Ink
	}
	c.Ring(l.x, l.y, l.r+8, 3, c.Theme.Ink)
	c.Fit(l.x, l.y+l.r+16+16*c.M.Text, l.area(c.M.Text).W, name, st)
}
