package widget

import (
	"slowneedle/game/draw"
)

// LampPlace is where a lamp and its word stand.
type LampPlace struct{ X, Y, R float64 }

// Area is what the lamp and its word can cover.
func (l LampPlace) Area(text float64) draw.Rect {
	w := l.R + 12 + 75*text
	return draw.R(l.X-w, l.Y-l.R-12, 2*w, 2*l.R+34+16*text)
}

// DrawLamp draws a ring that fills, with a word in it while it is filled.
func DrawLamp(c *draw.Canvas, l LampPlace, lit bool, name, over string) {
	st := draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Middle}
	if lit {
		c.Disc(l.X, l.Y, l.R, c.Theme.Amber)
		c.Fit(l.X, l.Y+5*c.M.Text, 2*l.R-4, over, draw.Style{Size: 17, Color: c.Theme.Ground, Bold: true, Align: draw.Middle})
		st.Color = c.Theme.Ink
	}
	c.Ring(l.X, l.Y, l.R+8, 3, c.Theme.Ink)
	c.Fit(l.X, l.Y+l.R+16+16*c.M.Text, l.Area(c.M.Text).W, name, st)
}
