package draw

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
type Rect struct{ X, Y, W, H float64 }

// R is the rectangle with its upper left corner at x, y.
func R(x, y, w, h float64) Rect { return Rect{x, y, w, h} }

func (r Rect) Right() float64  { return r.X + r.W }
func (r Rect) Bottom() float64 { return r.Y + r.H }
func (r Rect) Has(x, y float64) bool {
	return x >= r.X && x < r.Right() && y >= r.Y && y < r.Bottom()
}
func (r Rect) Grow(d float64) Rect { return Rect{r.X - d, r.Y - d, r.W + 2*d, r.H + 2*d} }

// canvas draws in units of the grid on an image of pixels.
type Canvas struct {
	Img   *ebiten.Image
	M     Metrics
	Theme *Theme
	Ink   Ink
	pts   []Point

	Written *[]Written // gets what is written where; nil if nobody asks
}

// written is a text on the screen: the place its letters take, without what
// hangs under the line, and their size, in units.
type Written struct {
	Text string
	R    Rect
	Size float64
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
type Align int

const (
	left Align = iota
	Middle
	Right
)

// style is a size in units at 100 % text, a colour, a weight and an anchor.
type Style struct {
	Size  float64
	Color color.NRGBA
	Bold  bool
	Align Align
}

// face is a style's font in whole pixels: the shaping beneath (go-text 0.2)
// spaces letters for the next whole size, so that those of a broken one stand
// too wide.
func (c *Canvas) face(s Style) *text.GoTextFace {
	src := regularFont
	if s.Bold {
		src = boldFont
	}
	return &text.GoTextFace{Source: src, Size: math.Max(1, math.Round(s.Size*c.M.Text*c.M.Unit))}
}

// width returns the width of a text in units.
func (c *Canvas) Width(s string, st Style) float64 {
	return text.Advance(s, c.face(st)) / c.M.Unit
}

// text writes one line with its baseline at y.
func (c *Canvas) Text(x, y float64, s string, st Style) {
	if s == "" {
		return
	}
	c.Ink.Flush(c.Img)
	f := c.face(st)
	px, py := x*c.M.Unit, y*c.M.Unit
	switch st.Align {
	case Middle:
		px -= text.Advance(s, f) / 2
	case Right:
		px -= text.Advance(s, f)
	}
	var op text.DrawOptions
	if c.Written != nil {
		size := f.Size / c.M.Unit
		*c.Written = append(*c.Written, Written{s, Rect{px / c.M.Unit, y - 0.72*size, text.Advance(s, f) / c.M.Unit, 0.72 * size}, size})
	}
	op.GeoM.Translate(math.Round(px), math.Round(py)-f.Metrics().HAscent)
	op.ColorScale.ScaleWithColor(st.Color)
	c.Ink.Marks.Mark(px-2, py-f.Size*1.2, px+text.Advance(s, f)+2, py+f.Size*0.5)
	text.Draw(c.Img, s, f, &op)
}

// fit writes one line no wider than w, in a smaller size where needed, and
// returns the size it took.
func (c *Canvas) Fit(x, y, w float64, s string, st Style) float64 {
	if got := c.Width(s, st); got > w {
		least, pixel := st.Size/2, 1/(c.M.Text*c.M.Unit)
		for st.Size *= math.Max(0.5, w/got); c.Width(s, st) > w && st.Size-pixel >= least; {
			st.Size -= pixel
		}
	}
	c.Text(x, y, s, st)
	return st.Size
}

// wrap breaks a text into lines no wider than w.
func (c *Canvas) Wrap(s string, w float64, st Style) []string {
	var lines []string
	for _, para := range strings.Split(s, "\n") {
		line := ""
		for _, word := range c.words(para, w, st) {
			longer := word
			if line != "" {
				longer = line + " " + word
			}
			if line != "" && c.Width(longer, st) > w {
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
func (c *Canvas) words(para string, w float64, st Style) []string {
	words := withUnits(strings.Fields(para))
	for i := 0; i < len(words); i++ {
		word := []rune(words[i])
		if float64(len(word))*st.Size*c.M.Text < w { // no letter is wider than high
			continue
		}
		for n := len(word); n > 1 && c.Width(string(word[:n]), st) > w; n-- {
			words[i] = string(word[:n-1])
			if n == 2 || c.Width(words[i], st) <= w {
				words = slices.Insert(words, i+1, string(word[n-1:]))
				break
			}
		}
	}
	return words
}

// fitLines is fit about a middle line: where fit would make the letters too
// small for a phone, there are two lines.
func (c *Canvas) FitLines(x, mid, w float64, s string, st Style) {
	full := c.Width(s, st)
	if size := st.Size * c.M.Text; full <= w || size*w/full >= c.M.Least {
		c.Fit(x, mid+st.Size*c.M.Text*0.35, w, s, st)
		return
	}
	st.Size = math.Max(st.Size*0.85, c.M.Least/c.M.Text)
	lines := c.Wrap(s, w, st)
	y := mid + st.Size*c.M.Text*0.35 - c.Lead(st)*0.86*float64(len(lines)-1)/2
	for _, l := range lines {
		c.Fit(x, y, w, l, st)
		y += c.Lead(st) * 0.86
	}
}

// lead is the distance of two baselines of a style, in units.
func (c *Canvas) Lead(st Style) float64 { return st.Size * c.M.Text * 1.42 }

// para writes a text in lines no wider than w, the first baseline at y, and
// returns the baseline below the last.
func (c *Canvas) Para(x, y, w float64, s string, st Style) float64 {
	for _, l := range c.Wrap(s, w, st) {
		c.Text(x, y, l, st)
		y += c.Lead(st)
	}
	return y
}

func (c *Canvas) Px(v float64) float64 { return v * c.M.Unit }

// hair is a width in units that is at least one pixel.
func (c *Canvas) hair(w float64) float64 { return math.Max(1, c.Px(w)) }

func (c *Canvas) Line(x1, y1, x2, y2, w float64, col color.NRGBA) {
	c.pts = capsule(c.pts[:0], c.Px(x1), c.Px(y1), c.Px(x2), c.Px(y2), c.hair(w))
	c.Ink.Fill(c.Img, c.pts, col)
}

// rule is a level line on whole pixels.
func (c *Canvas) Rule(x1, x2, y, w float64, col color.NRGBA) {
	h := math.Round(c.hair(w))
	c.Ink.Box(c.Img, math.Round(c.Px(x1)), math.Round(c.Px(y)-h/2), math.Round(c.Px(x2-x1)), h, col)
}

func (c *Canvas) Fill(r Rect, radius float64, col color.NRGBA) {
	x, y := math.Round(c.Px(r.X)), math.Round(c.Px(r.Y))
	w, h := math.Round(c.Px(r.W)), math.Round(c.Px(r.H))
	if radius <= 0 {
		c.Ink.Box(c.Img, x, y, w, h, col)
		return
	}
	c.pts = roundRect(c.pts[:0], x, y, w, h, c.Px(radius))
	c.Ink.Fill(c.Img, c.pts, col)
}

func (c *Canvas) Frame(r Rect, radius, w float64, col color.NRGBA) {
	c.pts = roundRect(c.pts[:0], math.Round(c.Px(r.X))+.5, math.Round(c.Px(r.Y))+.5, math.Round(c.Px(r.W))-1, math.Round(c.Px(r.H))-1, c.Px(radius))
	c.Ink.Stroke(c.Img, c.pts, c.hair(w), col, true)
}

func (c *Canvas) Disc(x, y, r float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.Px(x), c.Px(y), c.Px(r), 0, 2*math.Pi)
	c.Ink.Fill(c.Img, c.pts[:len(c.pts)-1], col)
}

func (c *Canvas) Ring(x, y, r, w float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.Px(x), c.Px(y), c.Px(r), 0, 2*math.Pi)
	c.Ink.Stroke(c.Img, c.pts[:len(c.pts)-1], c.hair(w), col, true)
}

// bow is part of a circle, angles in radians.
func (c *Canvas) Bow(x, y, r, a0, a1, w float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.Px(x), c.Px(y), c.Px(r), a0, a1)
	c.Ink.Stroke(c.Img, c.pts, c.hair(w), col, false)
}

// path strokes points given in units, each piece with round ends: at a sharp
// turn a stroke of one outline would thin out.
func (c *Canvas) Path(pts []Point, w float64, col color.NRGBA) {
	for i := 1; i < len(pts); i++ {
		if pts[i] != pts[i-1] {
			c.Line(pts[i-1].X, pts[i-1].Y, pts[i].X, pts[i].Y, w, col)
		}
	}
}

// wedge fills a triangle, clockwise.
func (c *Canvas) Wedge(x1, y1, x2, y2, x3, y3 float64, col color.NRGBA) {
	c.pts = append(c.pts[:0], Point{c.Px(x1), c.Px(y1)}, Point{c.Px(x2), c.Px(y2)}, Point{c.Px(x3), c.Px(y3)})
	c.Ink.Fill(c.Img, c.pts, col)
}

// dashes is a level dotted line.
func (c *Canvas) Dashes(x1, x2, y float64, col color.NRGBA) {
	for x := x1; x < x2; x += 9 {
		c.Rule(x, math.Min(x+2.5, x2), y, 1.4, col)
	}
}

// pixels returns the whole pixels a rectangle covers.
func (c *Canvas) Pixels(r Rect) image.Rectangle {
	return image.Rect(int(math.Floor(c.Px(r.X))), int(math.Floor(c.Px(r.Y))),
		int(math.Ceil(c.Px(r.Right()))), int(math.Ceil(c.Px(r.Bottom())))).Intersect(c.Img.Bounds())
}
