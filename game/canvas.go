package game

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"regexp"
	"slices"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/text/v2"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// rect is a place on the screen in units of the grid.
type rect struct{ x, y, w, h float64 }

func (r rect) right() float64  { return r.x + r.w }
func (r rect) bottom() float64 { return r.y + r.h }
func (r rect) has(x, y float64) bool {
	return x >= r.x && x < r.right() && y >= r.y && y < r.bottom()
}
func (r rect) grow(d float64) rect { return rect{r.x - d, r.y - d, r.w + 2*d, r.h + 2*d} }

// canvas draws in units of the grid on an image of pixels.
type canvas struct {
	img *ebiten.Image
	m   metrics
	th  *theme
	ink ink
	pts []point

	written *[]written // gets what is written where; nil if nobody asks
}

// written is a text on the screen: the place its letters take, without what
// hangs under the line, and their size, in units.
type written struct {
	text string
	r    rect
	size float64
}

var regularFont, boldFont = mustFont(goregular.TTF), mustFont(gobold.TTF)

// mustFont reads a font that is compiled in.
func mustFont(ttf []byte) *text.GoTextFaceSource {
	s, err := text.NewGoTextFaceSource(bytes.NewReader(ttf))
	if err != nil {
		panic("game: the built-in font does not parse: " + err.Error())
	}
	return s
}

// align is where the anchor of a text lies.
type align int

const (
	left align = iota
	middle
	right
)

// style is a size in units at 100 % text, a colour, a weight and an anchor.
type style struct {
	size  float64
	c     color.NRGBA
	bold  bool
	align align
}

// face is a style's font in whole pixels: the shaping beneath (go-text 0.2)
// spaces letters for the next whole size, so that those of a broken one stand
// too wide.
func (c *canvas) face(s style) *text.GoTextFace {
	src := regularFont
	if s.bold {
		src = boldFont
	}
	return &text.GoTextFace{Source: src, Size: math.Max(1, math.Round(s.size*c.m.text*c.m.unit))}
}

// width returns the width of a text in units.
func (c *canvas) width(s string, st style) float64 {
	return text.Advance(s, c.face(st)) / c.m.unit
}

// text writes one line with its baseline at y.
func (c *canvas) text(x, y float64, s string, st style) {
	if s == "" {
		return
	}
	c.ink.flush(c.img)
	f := c.face(st)
	px, py := x*c.m.unit, y*c.m.unit
	switch st.align {
	case middle:
		px -= text.Advance(s, f) / 2
	case right:
		px -= text.Advance(s, f)
	}
	var op text.DrawOptions
	if c.written != nil {
		size := f.Size / c.m.unit
		*c.written = append(*c.written, written{s, rect{px / c.m.unit, y - 0.72*size, text.Advance(s, f) / c.m.unit, 0.72 * size}, size})
	}
	op.GeoM.Translate(math.Round(px), math.Round(py)-f.Metrics().HAscent)
	op.ColorScale.ScaleWithColor(st.c)
	c.ink.on.mark(px-2, py-f.Size*1.2, px+text.Advance(s, f)+2, py+f.Size*0.5)
	text.Draw(c.img, s, f, &op)
}

// fit writes one line no wider than w, in a smaller size where needed, and
// returns the size it took.
func (c *canvas) fit(x, y, w float64, s string, st style) float64 {
	if got := c.width(s, st); got > w {
		least, pixel := st.size/2, 1/(c.m.text*c.m.unit)
		for st.size *= math.Max(0.5, w/got); c.width(s, st) > w && st.size-pixel >= least; {
			st.size -= pixel
		}
	}
	c.text(x, y, s, st)
	return st.size
}

// wrap breaks a text into lines no wider than w.
func (c *canvas) wrap(s string, w float64, st style) []string {
	var lines []string
	for _, para := range strings.Split(s, "\n") {
		line := ""
		for _, word := range c.words(para, w, st) {
			longer := word
			if line != "" {
				longer = line + " " + word
			}
			if line != "" && c.width(longer, st) > w {
				lines = append(lines, line)
				longer = word
			}
			line = longer
		}
		lines = append(lines, line)
	}
	return lines
}

var (
	someFigure = regexp.MustCompile(`^[(„]?[-+−]?\d+([.,]\d+)?$`)
	someUnit   = regexp.MustCompile(`^(dB|dBFS|dBu|dBA|VU|LUFS|V|Hz|ms|s|%)[.,:;?)]*$`)
)

// withUnits keeps figures on one line with their units.
func withUnits(words []string) []string {
	var all []string
	for i, w := range words {
		if i > 0 && someUnit.MatchString(w) && someFigure.MatchString(words[i-1]) {
			all[len(all)-1] += " " + w
			continue
		}
		all = append(all, w)
	}
	return all
}

// words are the words of a text; one that is wider than w, as the path of a file
// may be, is cut in pieces.
func (c *canvas) words(para string, w float64, st style) []string {
	words := withUnits(strings.Fields(para))
	for i := 0; i < len(words); i++ {
		word := []rune(words[i])
		if float64(len(word))*st.size*c.m.text < w { // no letter is wider than high
			continue
		}
		for n := len(word); n > 1 && c.width(string(word[:n]), st) > w; n-- {
			words[i] = string(word[:n-1])
			if n == 2 || c.width(words[i], st) <= w {
				words = slices.Insert(words, i+1, string(word[n-1:]))
				break
			}
		}
	}
	return words
}

// fitLines is fit about a middle line: where fit would make the letters too
// small for a phone, there are two lines.
func (c *canvas) fitLines(x, mid, w float64, s string, st style) {
	full := c.width(s, st)
	if size := st.size * c.m.text; full <= w || size*w/full >= c.m.least {
		c.fit(x, mid+st.size*c.m.text*0.35, w, s, st)
		return
	}
	st.size = math.Max(st.size*0.85, c.m.least/c.m.text)
	lines := c.wrap(s, w, st)
	y := mid + st.size*c.m.text*0.35 - c.lead(st)*0.86*float64(len(lines)-1)/2
	for _, l := range lines {
		c.fit(x, y, w, l, st)
		y += c.lead(st) * 0.86
	}
}

// lead is the distance of two baselines of a style, in units.
func (c *canvas) lead(st style) float64 { return st.size * c.m.text * 1.42 }

// para writes a text in lines no wider than w, the first baseline at y, and
// returns the baseline below the last.
func (c *canvas) para(x, y, w float64, s string, st style) float64 {
	for _, l := range c.wrap(s, w, st) {
		c.text(x, y, l, st)
		y += c.lead(st)
	}
	return y
}

func (c *canvas) px(v float64) float64 { return v * c.m.unit }

// hair is a width in units that is at least one pixel.
func (c *canvas) hair(w float64) float64 { return math.Max(1, c.px(w)) }

func (c *canvas) line(x1, y1, x2, y2, w float64, col color.NRGBA) {
	c.pts = capsule(c.pts[:0], c.px(x1), c.px(y1), c.px(x2), c.px(y2), c.hair(w))
	c.ink.fill(c.img, c.pts, col)
}

// rule is a level line on whole pixels.
func (c *canvas) rule(x1, x2, y, w float64, col color.NRGBA) {
	h := math.Round(c.hair(w))
	c.ink.box(c.img, math.Round(c.px(x1)), math.Round(c.px(y)-h/2), math.Round(c.px(x2-x1)), h, col)
}

func (c *canvas) fill(r rect, radius float64, col color.NRGBA) {
	x, y := math.Round(c.px(r.x)), math.Round(c.px(r.y))
	w, h := math.Round(c.px(r.w)), math.Round(c.px(r.h))
	if radius <= 0 {
		c.ink.box(c.img, x, y, w, h, col)
		return
	}
	c.pts = roundRect(c.pts[:0], x, y, w, h, c.px(radius))
	c.ink.fill(c.img, c.pts, col)
}

func (c *canvas) frame(r rect, radius, w float64, col color.NRGBA) {
	c.pts = roundRect(c.pts[:0], math.Round(c.px(r.x))+.5, math.Round(c.px(r.y))+.5, math.Round(c.px(r.w))-1, math.Round(c.px(r.h))-1, c.px(radius))
	c.ink.stroke(c.img, c.pts, c.hair(w), col, true)
}

func (c *canvas) disc(x, y, r float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.px(x), c.px(y), c.px(r), 0, 2*math.Pi)
	c.ink.fill(c.img, c.pts[:len(c.pts)-1], col)
}

func (c *canvas) ring(x, y, r, w float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.px(x), c.px(y), c.px(r), 0, 2*math.Pi)
	c.ink.stroke(c.img, c.pts[:len(c.pts)-1], c.hair(w), col, true)
}

// bow is part of a circle, angles in radians.
func (c *canvas) bow(x, y, r, a0, a1, w float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.px(x), c.px(y), c.px(r), a0, a1)
	c.ink.stroke(c.img, c.pts, c.hair(w), col, false)
}

// path strokes points given in units, each piece with round ends: at a sharp
// turn a stroke of one outline would thin out.
func (c *canvas) path(pts []point, w float64, col color.NRGBA) {
	for i := 1; i < len(pts); i++ {
		if pts[i] != pts[i-1] {
			c.line(pts[i-1].x, pts[i-1].y, pts[i].x, pts[i].y, w, col)
		}
	}
}

// wedge fills a triangle, clockwise.
func (c *canvas) wedge(x1, y1, x2, y2, x3, y3 float64, col color.NRGBA) {
	c.pts = append(c.pts[:0], point{c.px(x1), c.px(y1)}, point{c.px(x2), c.px(y2)}, point{c.px(x3), c.px(y3)})
	c.ink.fill(c.img, c.pts, col)
}

// dashes is a level dotted line.
func (c *canvas) dashes(x1, x2, y float64, col color.NRGBA) {
	for x := x1; x < x2; x += 9 {
		c.rule(x, math.Min(x+2.5, x2), y, 1.4, col)
	}
}

// pixels returns the whole pixels a rectangle covers.
func (c *canvas) pixels(r rect) image.Rectangle {
	return image.Rect(int(math.Floor(c.px(r.x))), int(math.Floor(c.px(r.y))),
		int(math.Ceil(c.px(r.right()))), int(math.Ceil(c.px(r.bottom())))).Intersect(c.img.Bounds())
}
