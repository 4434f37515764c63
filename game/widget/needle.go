package widget

import (
	"math"
	"slices"

	"slowneedle/audio/meter"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// The volume indicator's face: 0 VU at 71 % of the full deflection, deflection
// proportional to amplitude, marks as the standard has them (ANSI C16.5-1942,
// IEC 60268-17).
const (
	ZeroVU     = 0.708
	sweepAngle = 78 * math.Pi / 180
	pin        = 1.03 // where the movement's stop is
	needleFoot = 0.3  // nearest to the centre that a needle is drawn, of the radius
)

// Deflection is how far the needle stands at a level in VU, 0 to 1 and a
// little over.
func Deflection(vu float64) float64 {
	return math.Min(pin, ZeroVU*math.Pow(10, vu/20))
}

// Face is a needle's place: centre and radius of the arc, and the bottom edge
// below which nothing is drawn.
type Face struct {
	Area      draw.Rect
	Cx, Cy, R float64
	Bottom    float64
	Text      float64 // factor on the size of its figures
	Small     bool    // for a narrow column, with few figures
	Programme bool    // a programme meter's scale
}

// FaceIn fits an arc into a rectangle, with room for its figures.
func FaceIn(a draw.Rect, text float64) Face {
	top := 44 + 44*text
	half := math.Sin(sweepAngle / 2)
	sag := 1 - math.Cos(sweepAngle/2)
	r := (a.W - 70 - 66*text) / (2 * half)
	if a.W < 520 {
		r = (a.W - 62 - 44*text) / (2 * half) // smaller figures beside it
	}
	r = math.Min(r, (a.H-top)*0.62/sag)
	f := Face{Area: a, Cx: a.X + a.W/2, Cy: a.Y + top + r, R: r, Bottom: a.Bottom(), Text: text}
	// A needle is no longer than from its foot: where there is more height, the
	// unit stands under the foot and the face in the middle.
	if low := f.Cy - needleFoot*r + 20 + 22*text; low < f.Bottom {
		down := (f.Bottom - low) / 2
		f.Cy, f.Bottom = f.Cy+down, low+down
	}
	return f
}

// How far the marks of a small face reach beyond its arc, and the size of its figures.
const smallMark, smallFigure = 9.0, 12.0

// SmallFaceIn fits a small face into a rectangle, with room for its figures over the
// marks: at the ends of its scale the needle stays in the rectangle.
func SmallFaceIn(c *draw.Canvas, a draw.Rect) Face {
	over := smallMark + 1.1*c.Size(draw.Style{Size: c.Least(smallFigure)})
	r := (a.W/2-2)/math.Sin(sweepAngle/2) - smallMark
	r = math.Max(12, math.Min(r, (a.H-over)/(1-needleFoot)))
	f := Face{Area: a, Cx: a.X + a.W/2, Cy: a.Y + over + r, R: r, Small: true, Text: c.M.Text}
	f.Bottom = math.Min(a.Bottom(), f.Cy-needleFoot*r)
	f.Area.H = f.Bottom - a.Y
	return f
}

// Angle is the direction of a deflection, in radians.
func (f Face) Angle(frac float64) float64 {
	return -math.Pi/2 - sweepAngle/2 + sweepAngle*frac
}

// At is the point of a deflection at a distance from the centre.
func (f Face) At(frac, radius float64) (x, y float64) {
	a := f.Angle(frac)
	return f.Cx + radius*math.Cos(a), f.Cy + radius*math.Sin(a)
}

// mark is one of a face's scale: where it stands, and what is written over it.
type mark struct {
	at          float64
	label       string
	major, bold bool
}

// marks are those of the face's scale, the major ones first.
func (f Face) marks(s *words.Speech) (all []mark) {
	if f.Programme {
		for m := float64(meter.FirstMark); m <= meter.LastMark; m++ {
			all = append(all, mark{programmeFirst + (m-meter.FirstMark)*programmeStep, s.Number(m, 0), true, m == 4})
		}
		return all
	}
	for i, v := range []float64{0, 3, -20, -5, -10, -7, -3, -2, -1, 1, 2} {
		all = append(all, mark{Deflection(v), s.ShortSigned(v), i < 5, v == 0})
	}
	return all
}

// figure is how what is written over a mark looks, and where.
func (f Face) figure(c *draw.Canvas, m mark) (draw.Style, draw.Rect) {
	scale := math.Max(0.6, math.Min(1, f.R/f.Text/420)) // smaller on a narrow face
	st := draw.Style{Size: c.Least(19 * scale), Color: c.Theme.Dim, Bold: m.bold, Align: draw.Middle}
	x, y := f.At(m.at, f.R+36+14*f.Text)
	switch {
	case f.Small:
		st.Size = c.Least(smallFigure)
		half := c.Width(m.label, st) / 2
		x, y = f.At(m.at, f.R+smallMark)
		x, y = math.Max(f.Area.X+half, math.Min(f.Area.Right()-half, x)), y-c.Size(st)*0.65
	case m.major:
		st.Size, st.Color = c.Least(25*scale), c.Theme.Ink
	}
	w, high := c.Width(m.label, st)+6, c.Size(st)
	return st, draw.R(x-w/2, y-high/2, w, high)
}

// DrawFace draws everything that does not move: the scale, its figures as far as they
// do not run into each other, and the edge behind which the needles come up.
func DrawFace(c *draw.Canvas, f Face, s *words.Speech) {
	defer func(text float64) { c.M.Text = text }(c.M.Text)
	c.M.Text = f.Text
	th, thin, thick, foot, zero, unit := c.Theme, 3.0, 9.0, 6.0, ZeroVU, s.Say("needle.unit")
	// On a narrow face the lesser figures are left out, on a small one their marks too.
	few := f.Small || f.R/f.Text < 330 || c.M.Phone && f.R/f.Text < 400
	if f.Small {
		thin, thick, foot, unit = 2, 5, 4, ""
	}
	if f.Programme {
		zero, unit = 1, s.Say("needle.programme")
	} else {
		c.Bow(f.Cx, f.Cy, f.R, f.Angle(zero), f.Angle(1), thick, th.Arc)
	}
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(0), f.Angle(zero), thin, th.Ink)
	var written []draw.Rect
	for _, m := range f.marks(s) {
		if f.Small && !m.major {
			break
		}
		long := 20.0
		if f.Small {
			long = smallMark
		} else if m.major {
			long = 30
		}
		x1, y1 := f.At(m.at, f.R)
		x2, y2 := f.At(m.at, f.R+long)
		c.Line(x1, y1, x2, y2, thin, th.Ink)
		st, box := f.figure(c, m)
		if few && !m.major || slices.ContainsFunc(written, box.Meets) || box.Bottom() > f.Area.Bottom() {
			continue
		}
		written = append(written, box)
		c.Text(box.X+box.W/2, box.Y+box.H*0.86, m.label, st)
	}
	if !f.Programme && !f.Small {
		f.drawPercent(c, s, few)
	}
	c.Text(f.Cx, f.Bottom-16, unit, draw.Style{Size: 22, Color: th.Dim, Align: draw.Middle})
	drawFoot(c, f, foot)
}

// drawPercent draws the scale inside the arc, in per cent of 0 VU, with its end alone
// where there is little room.
func (f Face) drawPercent(c *draw.Canvas, s *words.Speech, few bool) {
	st := draw.Style{Size: c.Least(14), Color: c.Theme.Dim, Align: draw.Middle}
	for p := 0.0; p <= 100; p += 20 {
		d := ZeroVU * p / 100
		x1, y1 := f.At(d, f.R-12)
		x2, y2 := f.At(d, f.R-24)
		c.Line(x1, y1, x2, y2, 1.5, c.Theme.Dim)
		if few && p != 100 || c.M.Phone && f.Bottom-f.Cy+f.R < 96*c.M.Text {
			continue
		}
		label := s.Number(p, 0)
		if p == 100 {
			label += " %"
		}
		// Beside its mark, so that a needle on the mark does not stand on the figure; 0
		// where no needle comes.
		radius := f.R - 22 - 12*c.M.Text
		beside := (c.Width(label, st)/2 + 7) / radius
		if p == 0 {
			beside = -beside
		}
		x, y := f.At(d+beside/sweepAngle, radius)
		c.Text(x, y+5*c.M.Text, label, st)
	}
}

// foot is how far from the centre a needle at a deflection begins to be seen.
func (f Face) foot(d float64) float64 {
	return math.Max(f.R*needleFoot, (f.Cy-f.Bottom+8)/-math.Sin(f.Angle(d)))
}

// drawFoot draws the edge behind which the needles come up.
func drawFoot(c *draw.Canvas, f Face, width float64) {
	var edge []draw.Point
	for d := -0.02; d <= pin+0.02; d += 0.01 {
		edge = append(edge, draw.P(f.At(d, f.foot(d))))
	}
	c.Path(edge, width, c.Theme.Faint)
}

// DrawNeedles draws the needles of a face at some deflections, the first over the second,
// which is slimmer, and returns what they cover.
func DrawNeedles(c *draw.Canvas, f Face, width float64, at ...float64) (covers []draw.Rect) {
	for i := len(at) - 1; i >= 0; i-- {
		covers = drawNeedle(c, f, at[i], width-float64(i), i > 0, covers)
	}
	return covers
}

// drawNeedle draws a needle at a deflection and adds to covered the places it
// covers: a slanting line is cut in pieces, whose boxes are smaller together
// than the one around it.
func drawNeedle(c *draw.Canvas, f Face, d, width float64, second bool, covered []draw.Rect) []draw.Rect {
	x1, y1 := f.At(d, f.foot(d)+3+width/2)
	tip := f.R + 20
	if f.Small {
		tip = f.R // its figures stand over the marks
	}
	col := c.Theme.Needle
	if second {
		tip, col = f.R-4, c.Theme.Dim
	}
	x2, y2 := f.At(d, tip)
	c.Line(x1, y1, x2, y2, width, col)
	const pieces = 8
	for i := range pieces {
		xa, ya := x1+(x2-x1)*float64(i)/pieces, y1+(y2-y1)*float64(i)/pieces
		xb, yb := x1+(x2-x1)*float64(i+1)/pieces, y1+(y2-y1)*float64(i+1)/pieces
		covered = append(covered, draw.R(math.Min(xa, xb), math.Min(ya, yb), math.Abs(xb-xa), math.Abs(yb-ya)).Grow(width/2+2))
	}
	return covered
}

// DrawTarget marks the reading that is asked for inside the arc.
func DrawTarget(c *draw.Canvas, f Face, d float64) {
	inner, outer, half := f.R-25, f.R-8, 8.0
	if f.Small {
		inner, outer, half = f.R-17, f.R-5, 5
	}
	ax, ay := f.At(d, outer)
	bx, by := f.At(d, inner)
	dx, dy := draw.Direction(ax-bx, ay-by)
	c.Wedge(ax, ay, bx-dy*half, by+dx*half, bx+dy*half, by-dx*half, c.Theme.Teal)
}

// FaceText is the factor on the text of a face: figures that would meet on a
// narrow arc are kept smaller.
func FaceText(c *draw.Canvas) float64 {
	if c.M.Portrait {
		return math.Min(c.M.Text, 1.1)
	}
	return c.M.Text
}

// The programme meter's scale: the marks of meter.ProgrammeMark, evenly spaced.
const (
	programmeFirst = 0.06 // where mark 1 stands
	programmeStep  = 0.88 / 6
)

// ProgrammeDeflection is how far that meter's needle stands at a level in VU, 0 to a
// little over 1.
func ProgrammeDeflection(vu float64) float64 {
	return math.Max(0, math.Min(pin, programmeFirst+(meter.ProgrammeMark(vu)-meter.FirstMark)*programmeStep))
}

// LampPlace is where a lamp and its word stand.
type LampPlace struct {
	X, Y, R float64
	Counted bool // the lamp is all there is to go by: a second ring around it fills with the time
	Bare    bool // a small one, without a word
}

// The rings around a lamp, from its disc on outwards.
const bareRing, lampRing, countRing = 4.0, 8.0, 24.0

// reach is how far the lamp's outermost ring is from its disc.
func (l LampPlace) reach() float64 {
	switch {
	case l.Bare:
		return bareRing + 4
	case l.Counted:
		return countRing + 6
	}
	return lampRing + 4
}

// Area is what the lamp and its word can cover.
func (l LampPlace) Area(text float64) draw.Rect {
	out := l.R + l.reach()
	if l.Bare {
		return draw.R(l.X, l.Y, 0, 0).Grow(out)
	}
	w := math.Max(out, 75*text)
	return draw.R(l.X-w, l.Y-out, 2*w, 2*out+22+16*text)
}

// DrawLamp draws a lamp in a dark ring, with a word on it while it is lit. Of one that
// is counted, the ring around it shows what share of the time to count in is over.
func DrawLamp(c *draw.Canvas, l LampPlace, lit bool, share float64, name, over string) {
	th := c.Theme
	st := draw.Style{Size: 15, Color: th.Dim, Align: draw.Middle}
	ring := lampRing
	if l.Bare {
		ring = bareRing
	}
	c.Disc(l.X, l.Y, l.R+ring, th.LampRing())
	c.Ring(l.X, l.Y, l.R+ring, 2, th.Ink)
	if lit {
		c.Disc(l.X, l.Y, l.R+ring-5, th.Lit)
		st.Color = th.Ink
	} else {
		c.Disc(l.X, l.Y, l.R-2, th.Unlit)
	}
	if l.Bare {
		return
	}
	if lit {
		size := math.Max(17, l.R*0.3/c.M.Text)
		c.Fit(l.X, l.Y+size*0.32*c.M.Text, 2*l.R-2, over, draw.Style{Size: size, Color: th.OnLit, Bold: true, Align: draw.Middle})
	}
	if l.Counted {
		st.Size = 18
		c.Ring(l.X, l.Y, l.R+countRing, 6, th.Faint)
		if share > 0 {
			c.Bow(l.X, l.Y, l.R+countRing, -math.Pi/2, -math.Pi/2+2*math.Pi*share, 6, th.Dim)
		}
	}
	c.Fit(l.X, l.Y+l.R+l.reach()+4+16*c.M.Text, l.Area(c.M.Text).W, name, st)
}
