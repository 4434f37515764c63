package game

import (
	"math"

	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// The volume indicator's face: 0 VU at 71 % of the full deflection, deflection
// proportional to amplitude, marks as the standard has them (ANSI C16.5-1942,
// IEC 60268-17).
const (
	zeroVU     = 0.708
	sweepAngle = 78 * math.Pi / 180
	pin        = 1.03 // where the movement's stop is
	needleFoot = 0.3  // nearest to the centre that a needle is drawn, of the radius
)

var vuMarks = []float64{-20, -10, -7, -5, -3, -2, -1, 0, 1, 2, 3}

// deflection is how far the needle stands at a level in VU, 0 to 1 and a
// little over.
func deflection(vu float64) float64 {
	return math.Min(pin, zeroVU*math.Pow(10, vu/20))
}

// face is a needle's place: centre and radius of the arc, and the bottom edge
// below which nothing is drawn.
type face struct {
	area      draw.Rect
	cx, cy, r float64
	bottom    float64
}

// faceIn fits an arc into a rectangle, with room for its figures.
func faceIn(a draw.Rect, text float64) face {
	top := 44 + 44*text
	half := math.Sin(sweepAngle / 2)
	sag := 1 - math.Cos(sweepAngle/2)
	r := (a.W - 70 - 66*text) / (2 * half)
	if a.W < 520 {
		r = (a.W - 62 - 44*text) / (2 * half) // smaller figures beside it
	}
	r = math.Min(r, (a.H-top)*0.62/sag)
	f := face{area: a, cx: a.X + a.W/2, cy: a.Y + top + r, r: r, bottom: a.Bottom()}
	// A needle is no longer than from its foot: where there is more height, the
	// unit stands under the foot and the face in the middle.
	if low := f.cy - needleFoot*r + 20 + 22*text; low < f.bottom {
		down := (f.bottom - low) / 2
		f.cy, f.bottom = f.cy+down, low+down
	}
	return f
}

func (f face) angle(frac float64) float64 {
	return -math.Pi/2 - sweepAngle/2 + sweepAngle*frac
}

func (f face) at(frac, radius float64) (x, y float64) {
	a := f.angle(frac)
	return f.cx + radius*math.Cos(a), f.cy + radius*math.Sin(a)
}

func major(vu float64) bool {
	return vu == -20 || vu == -10 || vu == -5 || vu == 0 || vu == 3
}

// drawFace draws everything that does not move.
func drawFace(c *draw.Canvas, f face, s *words.Speech) {
	th := c.Theme
	// On a narrow face the figures are smaller and the lesser ones left out.
	room := f.r / c.M.Text
	scale := math.Max(0.6, math.Min(1, room/420))
	few := room < 330 || c.M.Phone && room < 400
	least := c.M.Least / c.M.Text
	c.Bow(f.cx, f.cy, f.r, f.angle(0), f.angle(zeroVU), 3, th.Ink)
	c.Bow(f.cx, f.cy, f.r, f.angle(zeroVU), f.angle(1), 9, th.Ink)
	for _, v := range vuMarks {
		long, col, size := 20.0, th.Dim, 19*scale
		if major(v) {
			long, col, size = 30, th.Ink, 25*scale
		}
		d := deflection(v)
		x1, y1 := f.at(d, f.r)
		x2, y2 := f.at(d, f.r+long)
		c.Line(x1, y1, x2, y2, 3, th.Ink)
		if few && !major(v) {
			continue
		}
		size = math.Max(size, least)
		x, y := f.at(d, f.r+36+14*c.M.Text)
		c.Text(x, y+size*c.M.Text*0.36, s.ShortSigned(v), draw.Style{Size: size, Color: col, Bold: v == 0, Align: draw.Middle})
	}
	for p := 0.0; p <= 100; p += 20 {
		d := zeroVU * p / 100
		x1, y1 := f.at(d, f.r-12)
		x2, y2 := f.at(d, f.r-24)
		c.Line(x1, y1, x2, y2, 1.5, th.Dim)
		if few && p != 100 || c.M.Phone && f.bottom-f.cy+f.r < 96*c.M.Text {
			continue
		}
		x, y := f.at(d, f.r-28-14*c.M.Text)
		if p == 0 { // beside the resting needle, not under it
			x, y = f.at(-0.055, f.r-22-14*c.M.Text)
		}
		label := s.Number(p, 0)
		if p == 100 {
			label += " %"
		}
		c.Text(x, y+5*c.M.Text, label, draw.Style{Size: math.Max(14, least), Color: th.Dim, Align: draw.Middle})
	}
	c.Text(f.cx, f.bottom-16, s.Say("needle.unit"), draw.Style{Size: 22, Color: th.Dim, Align: draw.Middle})
}

// drawNeedle draws a needle at a deflection and adds to covered the places it
// covers: a slanting line is cut in pieces, whose boxes are smaller together
// than the one around it.
func drawNeedle(c *draw.Canvas, f face, d, width float64, second bool, covered []draw.Rect) []draw.Rect {
	a := f.angle(d)
	r0 := math.Max(f.r*needleFoot, (f.cy-f.bottom+4)/-math.Sin(a))
	x1, y1 := f.at(d, r0)
	tip := f.r + 26
	col := c.Theme.Ink
	if second {
		tip, col = f.r-4, c.Theme.Dim
	}
	x2, y2 := f.at(d, tip)
	c.Line(x1, y1, x2, y2, width, col)
	const pieces = 8
	for i := range pieces {
		xa, ya := x1+(x2-x1)*float64(i)/pieces, y1+(y2-y1)*float64(i)/pieces
		xb, yb := x1+(x2-x1)*float64(i+1)/pieces, y1+(y2-y1)*float64(i+1)/pieces
		covered = append(covered, draw.R(math.Min(xa, xb), math.Min(ya, yb), math.Abs(xb-xa), math.Abs(yb-ya)).Grow(width/2+2))
	}
	return covered
}

// drawSmallFace draws a face for a narrow column: the arc, its main marks and
// few figures.
func drawSmallFace(c *draw.Canvas, f face) {
	th := c.Theme
	c.Bow(f.cx, f.cy, f.r, f.angle(0), f.angle(zeroVU), 2, th.Ink)
	c.Bow(f.cx, f.cy, f.r, f.angle(zeroVU), f.angle(1), 5, th.Ink)
	for _, v := range vuMarks {
		if !major(v) {
			continue
		}
		d := deflection(v)
		x1, y1 := f.at(d, f.r)
		x2, y2 := f.at(d, f.r+9)
		c.Line(x1, y1, x2, y2, 2, th.Ink)
	}
}

// drawTarget marks the reading that is asked for inside the arc.
func drawTarget(c *draw.Canvas, f face, d float64, small bool) {
	inner, outer, half := f.r-25, f.r-8, 8.0
	if small {
		inner, outer, half = f.r-17, f.r-5, 5
	}
	ax, ay := f.at(d, outer)
	bx, by := f.at(d, inner)
	dx, dy := draw.Direction(ax-bx, ay-by)
	c.Wedge(ax, ay, bx-dy*half, by+dx*half, bx+dy*half, by-dx*half, c.Theme.Teal)
}
