package widget

import (
	"math"

	"slowneedle/audio/meter"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// The programme meter's scale: the marks of meter.ProgrammeMark, evenly spaced.
const (
	programmeFirst = 0.06 // where mark 1 stands
	programmeStep  = 0.88 / 6
)

// ProgrammeDeflection is how far that meter's needle stands at a level in VU, 0 to a
// little over 1.
func ProgrammeDeflection(vu float64) float64 {
	return math.Max(0, math.Min(pin, programmeFirst+(meter.ProgrammeMark(vu)-1)*programmeStep))
}

// DrawProgrammeFace draws everything of that meter that does not move.
func DrawProgrammeFace(c *draw.Canvas, f Face, s *words.Speech) {
	th := c.Theme
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(0), f.Angle(1), 3, th.Ink)
	for m := 1.0; m <= 7; m++ {
		d := programmeFirst + (m-1)*programmeStep
		x1, y1 := f.At(d, f.R)
		x2, y2 := f.At(d, f.R+30)
		c.Line(x1, y1, x2, y2, 3, th.Ink)
		x, y := f.At(d, f.R+36+14*c.M.Text)
		c.Text(x, y+9*c.M.Text, s.Number(m, 0), draw.Style{Size: 25, Color: th.Ink, Bold: m == 4, Align: draw.Middle})
	}
	c.Text(f.Cx, f.Bottom-16, s.Say("needle.programme"), draw.Style{Size: 18, Color: th.Dim, Align: draw.Middle})
}
