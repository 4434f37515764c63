package draw

import (
	"image/color"
	"math"

	"github.com/hajimehoshi/ebiten/v2"
)

// ink draws antialiased strokes and fills as triangles whose edges fade over
// one pixel. Shapes collect until flush, so that a screenful is one draw call.
// All coordinates are pixels.
type ink struct {
	vs    []ebiten.Vertex
	is    []uint16
	rs    []rim
	marks *tiles // records where something is drawn; nil if it is not needed
}

// rim is one corner of an outline with the direction its edge moves outwards.
type rim struct{ x, y, nx, ny float64 }

var white = func() *ebiten.Image {
	img := ebiten.NewImage(3, 3)
	img.Fill(color.White)
	return img
}()

func (k *ink) flush(dst *ebiten.Image) {
	if len(k.is) > 0 && dst != nil {
		dst.DrawTriangles(k.vs, k.is, white, &ebiten.DrawTrianglesOptions{})
	}
	k.vs, k.is = k.vs[:0], k.is[:0]
}

// reserve flushes when n more vertices would not fit one draw call.
func (k *ink) reserve(dst *ebiten.Image, n int) {
	if len(k.vs)+n > math.MaxUint16 {
		k.flush(dst)
	}
}

func (k *ink) vertex(x, y float64, c color.NRGBA, alpha float64) uint16 {
	k.vs = append(k.vs, ebiten.Vertex{
		DstX: float32(x), DstY: float32(y), SrcX: 1.5, SrcY: 1.5,
		ColorR: float32(c.R) / 255, ColorG: float32(c.G) / 255, ColorB: float32(c.B) / 255,
		ColorA: float32(alpha * float64(c.A) / 255),
	})
	return uint16(len(k.vs) - 1)
}

// box fills an axis-aligned rectangle without fading: for edges on whole pixels.
func (k *ink) box(dst *ebiten.Image, x, y, w, h float64, c color.NRGBA) {
	k.reserve(dst, 4)
	k.marks.mark(x, y, x+w, y+h)
	a, b := k.vertex(x, y, c, 1), k.vertex(x+w, y, c, 1)
	d, e := k.vertex(x+w, y+h, c, 1), k.vertex(x, y+h, c, 1)
	k.is = append(k.is, a, b, d, a, d, e)
}

// outline turns points into corners with mitred normals, closed or open.
func (k *ink) outline(pts []Point, closed bool) []rim {
	k.rs = k.rs[:0]
	n := len(pts)
	for i, p := range pts {
		a, b := pts[(i+n-1)%n], pts[(i+1)%n]
		if !closed && i == 0 {
			a = p
		}
		if !closed && i == n-1 {
			b = p
		}
		x1, y1 := Direction(p.X-a.X, p.Y-a.Y)
		x2, y2 := Direction(b.X-p.X, b.Y-p.Y)
		if x1 == 0 && y1 == 0 {
			x1, y1 = x2, y2
		}
		if x2 == 0 && y2 == 0 {
			x2, y2 = x1, y1
		}
		nx, ny := Direction(y1+y2, -(x1 + x2))
		if nx == 0 && ny == 0 {
			nx, ny = y1, -x1
		}
		stretch := 1 / math.Max(0.5, nx*y1-ny*x1)
		k.rs = append(k.rs, rim{p.X, p.Y, nx * stretch, ny * stretch})
	}
	return k.rs
}

// fill paints a convex polygon given clockwise on the screen.
func (k *ink) fill(dst *ebiten.Image, pts []Point, c color.NRGBA) {
	if len(pts) < 3 {
		return
	}
	k.reserve(dst, 2*len(pts))
	rs := k.outline(pts, true)
	k.marks.mark(extent(pts, 1))
	first := uint16(len(k.vs))
	for _, r := range rs {
		k.vertex(r.x-r.nx/2, r.y-r.ny/2, c, 1)
		k.vertex(r.x+r.nx/2, r.y+r.ny/2, c, 0)
	}
	n := uint16(len(rs))
	for i := uint16(0); i < n; i++ {
		j := (i + 1) % n
		a, b, d, e := first+2*i, first+2*i+1, first+2*j, first+2*j+1
		k.is = append(k.is, a, b, e, a, e, d)
		if i > 0 && i < n-1 {
			k.is = append(k.is, first, a, d)
		}
	}
}

// stroke paints a line of width w through points.
func (k *ink) stroke(dst *ebiten.Image, pts []Point, w float64, c color.NRGBA, closed bool) {
	if len(pts) < 2 {
		return
	}
	k.reserve(dst, 4*len(pts))
	alpha := 1.0
	if w < 1 {
		alpha, w = w, 1
	}
	in, out := (w-1)/2, (w+1)/2
	rs := k.outline(pts, closed)
	first := uint16(len(k.vs))
	for _, r := range rs {
		k.vertex(r.x+r.nx*out, r.y+r.ny*out, c, 0)
		k.vertex(r.x+r.nx*in, r.y+r.ny*in, c, alpha)
		k.vertex(r.x-r.nx*in, r.y-r.ny*in, c, alpha)
		k.vertex(r.x-r.nx*out, r.y-r.ny*out, c, 0)
	}
	n := uint16(len(rs))
	last := n - 1
	if closed {
		last = n
	}
	for i := uint16(0); i < last; i++ {
		k.marks.mark(extent([]Point{pts[i], pts[(i+1)%n]}, w+1))
		a, b := first+4*i, first+4*((i+1)%n)
		for s := uint16(0); s < 3; s++ {
			k.is = append(k.is, a+s, a+s+1, b+s+1, a+s, b+s+1, b+s)
		}
	}
}

// extent is the box around points, larger by a margin.
func extent(pts []Point, margin float64) (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = pts[0].X, pts[0].Y, pts[0].X, pts[0].Y
	for _, p := range pts[1:] {
		x0, y0, x1, y1 = math.Min(x0, p.X), math.Min(y0, p.Y), math.Max(x1, p.X), math.Max(y1, p.Y)
	}
	return x0 - margin, y0 - margin, x1 + margin, y1 + margin
}

// Point is a place on the screen in pixels.
type Point struct{ X, Y float64 }

// P is the point at x, y.
func P(x, y float64) Point { return Point{x, y} }

// Direction is a vector of length 1, or of none.
func Direction(x, y float64) (float64, float64) {
	l := math.Hypot(x, y)
	if l < 1e-9 {
		return 0, 0
	}
	return x / l, y / l
}

// capsule is a thick line with round ends as a convex polygon.
func capsule(pts []Point, x1, y1, x2, y2, w float64) []Point {
	dx, dy := Direction(x2-x1, y2-y1)
	if dx == 0 && dy == 0 {
		dx = 1
	}
	r := w / 2
	n := max(3, int(math.Sqrt(r)*4))
	start := math.Atan2(dy, dx) - math.Pi/2
	for i := 0; i <= n; i++ {
		a := start + math.Pi*float64(i)/float64(n)
		pts = append(pts, Point{x2 + r*math.Cos(a), y2 + r*math.Sin(a)})
	}
	for i := 0; i <= n; i++ {
		a := start + math.Pi + math.Pi*float64(i)/float64(n)
		pts = append(pts, Point{x1 + r*math.Cos(a), y1 + r*math.Sin(a)})
	}
	return pts
}

// arc is part of a circle from angle a0 to a1 in radians, clockwise.
func arc(pts []Point, cx, cy, r, a0, a1 float64) []Point {
	n := max(6, int(math.Abs(a1-a0)*math.Sqrt(r)*1.6))
	for i := 0; i <= n; i++ {
		a := a0 + (a1-a0)*float64(i)/float64(n)
		pts = append(pts, Point{cx + r*math.Cos(a), cy + r*math.Sin(a)})
	}
	return pts
}

// roundRect is a rectangle with rounded corners, clockwise.
func roundRect(pts []Point, x, y, w, h, r float64) []Point {
	r = math.Min(r, math.Min(w, h)/2)
	pts = arc(pts, x+w-r, y+r, r, -math.Pi/2, 0)
	pts = arc(pts, x+w-r, y+h-r, r, 0, math.Pi/2)
	pts = arc(pts, x+r, y+h-r, r, math.Pi/2, math.Pi)
	return arc(pts, x+r, y+r, r, math.Pi, 3*math.Pi/2)
}

// tile is the side of a square of the picture that counts as drawn on or bare.
const tile = 32

// tiles holds which squares of a picture are drawn on.
type tiles struct {
	w, h int
	on   []bool
}

// reset makes all of a picture of so many pixels bare.
func (t *tiles) reset(pxW, pxH int) {
	t.w, t.h = (pxW+tile-1)/tile, (pxH+tile-1)/tile
	if len(t.on) != t.w*t.h {
		t.on = make([]bool, t.w*t.h)
	}
	clear(t.on)
}

// mark notes that something is drawn between two corners, in pixels.
func (t *tiles) mark(x0, y0, x1, y1 float64) {
	if t == nil || t.w == 0 {
		return
	}
	left, right := max(0, int(x0)/tile), min(t.w-1, int(x1)/tile)
	top, bottom := max(0, int(y0)/tile), min(t.h-1, int(y1)/tile)
	for y := top; y <= bottom; y++ {
		for x := left; x <= right; x++ {
			t.on[y*t.w+x] = true
		}
	}
}
