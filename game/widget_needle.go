package game

import "math"

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
	area      rect
	cx, cy, r float64
	bottom    float64
}

// faceIn fits an arc into a rectangle, with room for its figures.
func faceIn(a rect, text float64) face {
	top := 44 + 44*text
	half := math.Sin(sweepAngle / 2)
	sag := 1 - math.Cos(sweepAngle/2)
	r := (a.w - 70 - 66*text) / (2 * half)
	if a.w < 520 {
		r = (a.w - 62 - 44*text) / (2 * half) // smaller figures beside it
	}
	r = math.Min(r, (a.h-top)*0.62/sag)
	f := face{area: a, cx: a.x + a.w/2, cy: a.y + top + r, r: r, bottom: a.bottom()}
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
func (c *canvas) drawFace(f face, s speech) {
	th := c.th
	// On a narrow face the figures are smaller and the lesser ones left out.
	room := f.r / c.m.text
	scale := math.Max(0.6, math.Min(1, room/420))
	few := room < 330 || c.m.phone && room < 400
	least := c.m.least / c.m.text
	c.bow(f.cx, f.cy, f.r, f.angle(0), f.angle(zeroVU), 3, th.ink)
	c.bow(f.cx, f.cy, f.r, f.angle(zeroVU), f.angle(1), 9, th.ink)
	for _, v := range vuMarks {
		long, col, size := 20.0, th.dim, 19*scale
		if major(v) {
			long, col, size = 30, th.ink, 25*scale
		}
		d := deflection(v)
		x1, y1 := f.at(d, f.r)
		x2, y2 := f.at(d, f.r+long)
		c.line(x1, y1, x2, y2, 3, th.ink)
		if few && !major(v) {
			continue
		}
		size = math.Max(size, least)
		x, y := f.at(d, f.r+36+14*c.m.text)
		c.text(x, y+size*c.m.text*0.36, s.shortSigned(v), style{size: size, c: col, bold: v == 0, align: middle})
	}
	for p := 0.0; p <= 100; p += 20 {
		d := zeroVU * p / 100
		x1, y1 := f.at(d, f.r-12)
		x2, y2 := f.at(d, f.r-24)
		c.line(x1, y1, x2, y2, 1.5, th.dim)
		if few && p != 100 || c.m.phone && f.bottom-f.cy+f.r < 96*c.m.text {
			continue
		}
		x, y := f.at(d, f.r-28-14*c.m.text)
		if p == 0 { // beside the resting needle, not under it
			x, y = f.at(-0.055, f.r-22-14*c.m.text)
		}
		label := s.number(p, 0)
		if p == 100 {
			label += " %"
		}
		c.text(x, y+5*c.m.text, label, style{size: math.Max(14, least), c: th.dim, align: middle})
	}
	c.text(f.cx, f.bottom-16, s.say("needle.unit"), style{size: 22, c: th.dim, align: middle})
}

// drawNeedle draws a needle at a deflection and adds to covered the places it
// covers: a slanting line is cut in pieces, whose boxes are smaller together
// than the one around it.
func (c *canvas) drawNeedle(f face, d, width float64, second bool, covered []rect) []rect {
	a := f.angle(d)
	r0 := math.Max(f.r*needleFoot, (f.cy-f.bottom+4)/-math.Sin(a))
	x1, y1 := f.at(d, r0)
	tip := f.r + 26
	col := c.th.ink
	if second {
		tip, col = f.r-4, c.th.dim
	}
	x2, y2 := f.at(d, tip)
	c.line(x1, y1, x2, y2, width, col)
	const pieces = 8
	for i := range pieces {
		xa, ya := x1+(x2-x1)*float64(i)/pieces, y1+(y2-y1)*float64(i)/pieces
		xb, yb := x1+(x2-x1)*float64(i+1)/pieces, y1+(y2-y1)*float64(i+1)/pieces
		covered = append(covered, rect{math.Min(xa, xb), math.Min(ya, yb), math.Abs(xb - xa), math.Abs(yb - ya)}.grow(width/2+2))
	}
	return covered
}

// drawSmallFace draws a face for a narrow column: the arc, its main marks and
// few figures.
func (c *canvas) drawSmallFace(f face) {
	th := c.th
	c.bow(f.cx, f.cy, f.r, f.angle(0), f.angle(zeroVU), 2, th.ink)
	c.bow(f.cx, f.cy, f.r, f.angle(zeroVU), f.angle(1), 5, th.ink)
	for _, v := range vuMarks {
		if !major(v) {
			continue
		}
		d := deflection(v)
		x1, y1 := f.at(d, f.r)
		x2, y2 := f.at(d, f.r+9)
		c.line(x1, y1, x2, y2, 2, th.ink)
	}
}

// drawTarget marks the reading that is asked for inside the arc.
func (c *canvas) drawTarget(f face, d float64, small bool) {
	inner, outer, half := f.r-25, f.r-8, 8.0
	if small {
		inner, outer, half = f.r-17, f.r-5, 5
	}
	ax, ay := f.at(d, outer)
	bx, by := f.at(d, inner)
	dx, dy := unit(ax-bx, ay-by)
	c.wedge(ax, ay, bx-dy*half, by+dx*half, bx+dy*half, by-dx*half, c.th.teal)
}
