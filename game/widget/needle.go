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
	SweepAngle = 78 * math.Pi / 180
	pin        = 1.03 // where the movement's stop is
	needleFoot = 0.3  // nearest to the centre that a needle is drawn, of the radius
)

var VuMarks = []float64{-20, -10, -7, -5, -3, -2, -1, 0, 1, 2, 3}

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
	Small     bool // for a narrow column, with few figures
}

// FaceIn fits an arc into a rectangle, with room for its figures.
func FaceIn(a draw.Rect, text float64) Face {
	top := 44 + 44*text
	half := math.Sin(SweepAngle / 2)
	sag := 1 - math.Cos(SweepAngle/2)
	r := (a.W - 70 - 66*text) / (2 * half)
	if a.W < 520 {
		r = (a.W - 62 - 44*text) / (2 * half) // smaller figures beside it
	}
	r = math.Min(r, (a.H-top)*0.62/sag)
	f := Face{Area: a, Cx: a.X + a.W/2, Cy: a.Y + top + r, R: r, Bottom: a.Bottom()}
	// A needle is no longer than from its foot: where there is more height, the
	// unit stands under the foot and the face in the middle.
	if low := f.Cy - needleFoot*r + 20 + 22*text; low < f.Bottom {
		down := (f.Bottom - low) / 2
		f.Cy, f.Bottom = f.Cy+down, low+down
	}
	return f
}

// smallMark is how far the marks of a small face reach beyond its arc.
const smallMark = 9.0

// smallFigure is the style of a small face's figures.
func smallFigure(c *draw.Canvas) draw.Style {
	return draw.Style{Size: c.Least(12), Color: c.Theme.Dim, Align: draw.Middle}
}

// SmallFaceIn fits a small face into a rectangle, with room for its figures over the
// marks: at the ends of its scale the needle stays in the rectangle.
func SmallFaceIn(c *draw.Canvas, a draw.Rect) Face {
	over := smallMark + 1.1*c.Size(smallFigure(c))
	r := (a.W/2-2)/math.Sin(SweepAngle/2) - smallMark
	r = math.Max(12, math.Min(r, (a.H-over)/(1-needleFoot)))
	f := Face{Area: a, Cx: a.X + a.W/2, Cy: a.Y + over + r, R: r, Small: true}
	f.Bottom = math.Min(a.Bottom(), f.Cy-needleFoot*r)
	f.Area.H = f.Bottom - a.Y
	return f
}

// Angle is the direction of a deflection, in radians.
func (f Face) Angle(frac float64) float64 {
	return -math.Pi/2 - SweepAngle/2 + SweepAngle*frac
}

// At is the point of a deflection at a distance from the centre.
func (f Face) At(frac, radius float64) (x, y float64) {
	a := f.Angle(frac)
	return f.Cx + radius*math.Cos(a), f.Cy + radius*math.Sin(a)
}

func major(vu float64) bool {
	return vu == -20 || vu == -10 || vu == -5 || vu == 0 || vu == 3
}

// DrawFace draws everything that does not move.
func DrawFace(c *draw.Canvas, f Face, s *words.Speech) {
	th := c.Theme
	// On a narrow face the figures are smaller and the lesser ones left out.
	room := f.R / c.M.Text
	scale := math.Max(0.6, math.Min(1, room/420))
	few := room < 330 || c.M.Phone && room < 400
	least := c.M.Least / c.M.Text
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(0), f.Angle(ZeroVU), 3, th.Ink)
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(ZeroVU), f.Angle(1), 9, th.Ink)
	for _, v := range VuMarks {
		long, col, size := 20.0, th.Dim, 19*scale
		if major(v) {
			long, col, size = 30, th.Ink, 25*scale
		}
		d := Deflection(v)
		x1, y1 := f.At(d, f.R)
		x2, y2 := f.At(d, f.R+long)
		c.Line(x1, y1, x2, y2, 3, th.Ink)
		if few && !major(v) {
			continue
		}
		size = math.Max(size, least)
		x, y := f.At(d, f.R+36+14*c.M.Text)
		c.Text(x, y+size*c.M.Text*0.36, s.ShortSigned(v), draw.Style{Size: size, Color: col, Bold: v == 0, Align: draw.Middle})
	}
	for p := 0.0; p <= 100; p += 20 {
		d := ZeroVU * p / 100
		x1, y1 := f.At(d, f.R-12)
		x2, y2 := f.At(d, f.R-24)
		c.Line(x1, y1, x2, y2, 1.5, th.Dim)
		if few && p != 100 || c.M.Phone && f.Bottom-f.Cy+f.R < 96*c.M.Text {
			continue
		}
		label, st := s.Number(p, 0), draw.Style{Size: math.Max(14, least), Color: th.Dim, Align: draw.Middle}
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
		x, y := f.At(d+beside/SweepAngle, radius)
		c.Text(x, y+5*c.M.Text, label, st)
	}
	c.Text(f.Cx, f.Bottom-16, s.Say("needle.unit"), draw.Style{Size: 22, Color: th.Dim, Align: draw.Middle})
	drawFoot(c, f, 6)
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

// Needles are the needles of a face as they were drawn last. The zero value is that of a
// face on which there are none yet.
type Needles struct {
	Covered []draw.Rect // where they stand
	shown   []float64   // their deflections
}

// Draw draws the needles at some deflections, the first over the second, which is
// slimmer; where none has moved it draws nothing, unless it is to be done again.
func (n *Needles) Draw(c *draw.Canvas, f Face, again bool, width float64, now ...float64) {
	pixel := 0.15 / (SweepAngle * c.Px(f.R))
	again = again || len(n.shown) != len(now)
	for i, d := range now {
		again = again || math.Abs(d-n.shown[i]) > pixel
	}
	if !again {
		return
	}
	for _, r := range n.Covered {
		c.Restore(r)
	}
	n.Covered, n.shown = n.Covered[:0], append(n.shown[:0], now...)
	for i := len(now) - 1; i >= 0; i-- {
		n.Covered = drawNeedle(c, f, now[i], width-float64(i), i > 0, n.Covered)
	}
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

// DrawSmallFace draws a face for a narrow column: the arc, its main marks, and of
// their figures those that do not run into others.
func DrawSmallFace(c *draw.Canvas, f Face, s *words.Speech) {
	th, st := c.Theme, smallFigure(c)
	var written []draw.Rect
	for _, v := range []float64{0, 3, -20, -5, -10} {
		label := s.ShortSigned(v)
		w, high := c.Width(label, st), c.Size(st)
		x, y := f.At(Deflection(v), f.R+smallMark)
		x, y = math.Max(f.Area.X+w/2, math.Min(f.Area.Right()-w/2, x)), y-high*0.65
		box := draw.R(x-w/2-3, y-high*0.5, w+6, high)
		if slices.ContainsFunc(written, box.Meets) || box.Bottom() > f.Area.Bottom() {
			continue
		}
		written = append(written, box)
		st.Bold = v == 0
		c.Text(x, y+high*0.36, label, st)
	}
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(0), f.Angle(ZeroVU), 2, th.Ink)
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(ZeroVU), f.Angle(1), 5, th.Ink)
	for _, v := range VuMarks {
		if !major(v) {
			continue
		}
		d := Deflection(v)
		x1, y1 := f.At(d, f.R)
		x2, y2 := f.At(d, f.R+smallMark)
		c.Line(x1, y1, x2, y2, 2, th.Ink)
	}
	drawFoot(c, f, 4)
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

// DrawProgrammeFace draws everything of that meter that does not move.
func DrawProgrammeFace(c *draw.Canvas, f Face, s *words.Speech) {
	th := c.Theme
	c.Bow(f.Cx, f.Cy, f.R, f.Angle(0), f.Angle(1), 3, th.Ink)
	for m := float64(meter.FirstMark); m <= meter.LastMark; m++ {
		d := programmeFirst + (m-meter.FirstMark)*programmeStep
		x1, y1 := f.At(d, f.R)
		x2, y2 := f.At(d, f.R+30)
		c.Line(x1, y1, x2, y2, 3, th.Ink)
		x, y := f.At(d, f.R+36+14*c.M.Text)
		c.Text(x, y+9*c.M.Text, s.Number(m, 0), draw.Style{Size: 25, Color: th.Ink, Bold: m == 4, Align: draw.Middle})
	}
	c.Text(f.Cx, f.Bottom-16, s.Say("needle.programme"), draw.Style{Size: 18, Color: th.Dim, Align: draw.Middle})
	drawFoot(c, f, 6)
}

// LampPlace is where a lamp and its word stand.
type LampPlace struct {
	X, Y, R float64
	Counted bool // the lamp is all there is to go by: a second ring around it fills with the time
}

// The rings around a lamp, from its disc on outwards.
const lampRing, countRing = 8.0, 24.0

// reach is how far the lamp's outermost ring is from its disc.
func (l LampPlace) reach() float64 {
	if l.Counted {
		return countRing + 6
	}
	return lampRing + 4
}

// Area is what the lamp and its word can cover.
func (l LampPlace) Area(text float64) draw.Rect {
	out := l.R + l.reach()
	w := out + 75*text
	return draw.R(l.X-w, l.Y-out, 2*w, 2*out+22+16*text)
}

// DrawLamp draws a lamp in a dark ring, with a word on it while it is lit. Of one that
// is counted, the ring around it shows what share of the time to count in is over.
func DrawLamp(c *draw.Canvas, l LampPlace, lit bool, share float64, name, over string) {
	th := c.Theme
	st := draw.Style{Size: 15, Color: th.Dim, Align: draw.Middle}
	c.Disc(l.X, l.Y, l.R+lampRing, th.LampRing())
	c.Ring(l.X, l.Y, l.R+lampRing, 2, th.Ink)
	if lit {
		c.Disc(l.X, l.Y, l.R+3, th.Lit)
		size := math.Max(17, l.R*0.3/c.M.Text)
		c.Fit(l.X, l.Y+size*0.32*c.M.Text, 2*l.R-2, over, draw.Style{Size: size, Color: th.OnLit, Bold: true, Align: draw.Middle})
		st.Color = th.Ink
	} else {
		c.Disc(l.X, l.Y, l.R-2, th.Unlit)
	}
	if l.Counted {
		st.Size = 18
		c.Ring(l.X, l.Y, l.R+countRing, 6, c.Theme.Faint)
		if share > 0 {
			c.Bow(l.X, l.Y, l.R+countRing, -math.Pi/2, -math.Pi/2+2*math.Pi*share, 6, c.Theme.Dim)
		}
	}
	c.Fit(l.X, l.Y+l.R+l.reach()+4+16*c.M.Text, l.Area(c.M.Text).W, name, st)
}

// BareLampArea is what a lamp without a word can cover.
func BareLampArea(l LampPlace) draw.Rect { return draw.R(l.X, l.Y, 0, 0).Grow(l.R + 10) }

// DrawBareLamp draws a ring that fills, without a word.
func DrawBareLamp(c *draw.Canvas, l LampPlace, lit bool) {
	if lit {
		c.Disc(l.X, l.Y, l.R, c.Theme.Amber)
	}
	c.Ring(l.X, l.Y, l.R+5, 2, c.Theme.Ink)
}
