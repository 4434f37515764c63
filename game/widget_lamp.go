package game

import (
	"slowneedle/game/draw"
)

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
