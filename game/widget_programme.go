package game

import "math"

// The programme meter's scale (IEC 60268-10, type IIa): marks 1 to 7, 4 at the
// alignment level, 4 dB from mark to mark and 6 dB from 1 to 2; evenly spaced.
const (
	programmeFirst = 0.06 // where mark 1 stands
	programmeStep  = 0.88 / 6
)

// programmeMark is the reading on the scale at a level in dB relative to the
// alignment level.
func programmeMark(db float64) float64 {
	if db < -8 {
		return 2 + (db+8)/6
	}
	return 4 + db/4
}

// programmeDeflection is how far that meter's needle stands, 0 to a little
// over 1.
func programmeDeflection(db float64) float64 {
	return math.Max(0, math.Min(pin, programmeFirst+(programmeMark(db)-1)*programmeStep))
}

// drawProgrammeFace draws everything of that meter that does not move.
func (c *canvas) drawProgrammeFace(f face, s speech) {
	th := c.th
	c.bow(f.cx, f.cy, f.r, f.angle(0), f.angle(1), 3, th.ink)
	for m := 1.0; m <= 7; m++ {
		d := programmeFirst + (m-1)*programmeStep
		x1, y1 := f.at(d, f.r)
		x2, y2 := f.at(d, f.r+30)
		c.line(x1, y1, x2, y2, 3, th.ink)
		x, y := f.at(d, f.r+36+14*c.m.text)
		c.text(x, y+9*c.m.text, s.number(m, 0), style{size: 25, c: th.ink, bold: m == 4, align: middle})
	}
	c.text(f.cx, f.bottom-16, s.say("needle.programme"), style{size: 18, c: th.dim, align: middle})
}
