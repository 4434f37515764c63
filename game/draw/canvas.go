// Package draw is what everything on the screen is drawn with: a canvas in units
// of a grid, ink and text on it, rectangles that are cut, stacked and split, the
// themes, and the picture, whose static layer is drawn again only when something
// on it has changed.
package draw

import (
	"image"
	"image/color"
	"math"
	"regexp"
	"slices"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
)

// Rect is a place on the screen in units of the grid.
type Rect struct{ X, Y, W, H float64 }

// R is the rectangle with its upper left corner at x, y.
func R(x, y, w, h float64) Rect { return Rect{x, y, w, h} }

// Right and Bottom are the far edges.
func (r Rect) Right() float64  { return r.X + r.W }
func (r Rect) Bottom() float64 { return r.Y + r.H }

// Has reports whether a point lies in the rectangle.
func (r Rect) Has(x, y float64) bool {
	return x >= r.X && x < r.Right() && y >= r.Y && y < r.Bottom()
}

// Grow is the rectangle larger by d on every side.
func (r Rect) Grow(d float64) Rect { return Rect{r.X - d, r.Y - d, r.W + 2*d, r.H + 2*d} }

// Canvas draws in units of the grid on an image of pixels.
type Canvas struct {
	Img   *ebiten.Image // nil draws nothing: only the items are of interest
	M     Metrics
	Theme *Theme
	ink   ink
	pts   []Point

	Items *[]Item       // records what is drawn; nil if it is not needed
	under *ebiten.Image // the static layer, on a canvas for what moves
}

// Item is a text or a control on a screen: what is known of it without seeing
// the picture.
type Item struct {
	Name  string // of a control, by which it is pressed and given the focus; empty for a text
	Role  Role
	Label string  // what is written, or what the control is called
	Value string  // what stands in a field
	On    bool    // of a control: what it stands for is chosen
	Said  Said    // of a text
	Place Rect    // of a text what its letters take, without what hangs under the line
	Size  float64 // of a text's letters, in units
}

// Role is what an item is.
type Role string

const (
	RoleText   Role = "text"
	RoleButton Role = "button"
	RoleField  Role = "field"  // to type into
	RoleSlider Role = "slider" // to drag, where its knob stands
)

// Items returns the texts and controls that paint draws, without drawing them.
func Items(m Metrics, th *Theme, paint func(c *Canvas)) []Item {
	var all []Item
	paint(&Canvas{M: m, Theme: th, Items: &all})
	return all
}

// Said is how those meet a text who hear the screen.
type Said int

const (
	AsText  Said = iota
	Heading      // of the screen
	Live         // it is said when it comes
)

// List adds a control to the items of the screen.
func (c *Canvas) List(i Item) {
	if c.Items != nil {
		*c.Items = append(*c.Items, i)
	}
}

// Restore puts the static layer back in a rectangle of a canvas for what moves.
func (c *Canvas) Restore(r Rect) {
	p := c.pixelRect(r)
	if p.Empty() || c.under == nil {
		return
	}
	c.ink.flush(c.Img)
	var op ebiten.DrawImageOptions
	op.Blend = ebiten.BlendCopy
	op.GeoM.Translate(float64(p.Min.X), float64(p.Min.Y))
	c.Img.DrawImage(c.under.SubImage(p).(*ebiten.Image), &op)
}

var regularFont, boldFont = mustFont(goregular.TTF), mustFont(gobold.TTF)

// mustFont reads a font that is compiled in.
func mustFont(ttf []byte) *opentype.Font {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic("draw: the built-in font does not parse: " + err.Error())
	}
	return f
}

// Faces are kept, for each has its own store of drawn letters.
type faceKey struct {
	bold bool
	size float64 // pixels
}

var faces = map[faceKey]*face{}

// Align is where the anchor of a text lies.
type Align int

const (
	left Align = iota
	Middle
	Right
)

// Style is a size in units at 100 % text, a colour, a weight, an anchor, and how it
// is said.
type Style struct {
	Size  float64
	Color color.NRGBA
	Bold  bool
	Align Align
	Said  Said
	Apart float64 // between letters, as a share of the size
}

// pixels is the size of a style's letters: whole pixels, so that few faces are
// needed.
func (c *Canvas) pixels(s Style) float64 {
	least := math.Ceil(c.M.Least * c.M.Unit)
	return math.Max(1, math.Max(least, math.Round(s.Size*c.M.Text*c.M.Unit)))
}

// face is a style's font.
func (c *Canvas) face(s Style) *face {
	key := faceKey{s.Bold, c.pixels(s)}
	if f, ok := faces[key]; ok {
		return f
	}
	if len(faces) >= 100 { // a window that was pulled through many sizes
		clear(faces)
	}
	ttf := regularFont
	if s.Bold {
		ttf = boldFont
	}
	faces[key] = newFace(ttf, key.size)
	return faces[key]
}

// Size is the size of a style's letters, in units: no smaller than the smallest
// that can be read on a hand-held screen.
func (c *Canvas) Size(st Style) float64 { return math.Max(st.Size*c.M.Text, c.M.Least) }

// Width returns the width of a text in units.
func (c *Canvas) Width(s string, st Style) float64 {
	return c.advance(s, st) / c.M.Unit
}

// advance is the width of a text in pixels.
func (c *Canvas) advance(s string, st Style) float64 {
	return c.face(st).walk(s, st.Apart*c.pixels(st), nil)
}

// Text writes one line with its baseline at y.
func (c *Canvas) Text(x, y float64, s string, st Style) {
	if s == "" {
		return
	}
	c.ink.flush(c.Img)
	px, py := x*c.M.Unit, y*c.M.Unit
	switch st.Align {
	case Middle:
		px -= c.advance(s, st) / 2
	case Right:
		px -= c.advance(s, st)
	}
	size := c.pixels(st)
	if c.Items != nil {
		size := size / c.M.Unit
		*c.Items = append(*c.Items, Item{Role: RoleText, Label: s, Said: st.Said, Size: size, Place: Rect{px / c.M.Unit, y - 0.72*size, c.Width(s, st), 0.72 * size}})
	}
	c.ink.marks.mark(px-2, py-size*1.2, px+c.advance(s, st)+2, py+size*0.5)
	if c.Img != nil {
		var tint ebiten.ColorScale
		tint.ScaleWithColor(st.Color)
		c.face(st).write(c.Img, s, st.Apart*size, math.Round(px), math.Round(py), tint)
	}
}

// Fit writes one line no wider than w, in a smaller size where needed, and
// returns the size it took. What does not fit in the smallest size is cut off.
func (c *Canvas) Fit(x, y, w float64, s string, st Style) float64 {
	if got := c.Width(s, st); got > w {
		least, pixel := math.Min(st.Size, c.Least(st.Size/2)), 1/(c.M.Text*c.M.Unit)
		for st.Size = math.Max(least, st.Size*w/got); c.Width(s, st) > w && st.Size-pixel >= least; {
			st.Size -= pixel
		}
		s = c.Clip(w, s, st)
	}
	c.Text(x, y, s, st)
	return st.Size
}

// Clip is a text no wider than w: of one that is wider the end is cut off, of one that
// has no room at all nothing is left.
func (c *Canvas) Clip(w float64, s string, st Style) string {
	for whole := []rune(s); c.Width(s, st) > w && len(whole) > 0; whole = whole[:len(whole)-1] {
		s = strings.TrimRight(string(whole[:len(whole)-1]), " ·,:") + "…"
	}
	if s == "…" {
		return ""
	}
	return s
}

// Wrap breaks a text into lines no wider than w.
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
				lines = append(lines, strings.TrimSuffix(line, " ·")) // which parts what stands in one line
				longer = word
			}
			line = longer
		}
		lines = append(lines, line)
	}
	return lines
}

// ofFigure is a unit behind a figure, from which it does not part at the end of a line.
var ofFigure = regexp.MustCompile(`(\d) (dB|dBFS|dBu|dBA|VU|LUFS|V|Hz|ms|s|%)([.,:;?)]*)( |$)`)

// fields are the words of a text, a figure with its unit as one.
func fields(text string) []string {
	words := strings.FieldsFunc(ofFigure.ReplaceAllString(text, "$1\u00a0$2$3$4"), func(r rune) bool { return r == ' ' })
	for i, w := range words {
		words[i] = strings.ReplaceAll(w, "\u00a0", " ")
	}
	return words
}

// words are the words of a text; one that is wider than w, as the path of a file
// may be, is cut in pieces.
func (c *Canvas) words(para string, w float64, st Style) []string {
	words := fields(para)
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

// FitLines is Fit about a middle line: where Fit would cut something off, there
// are two lines.
func (c *Canvas) FitLines(x, mid, w float64, s string, st Style) {
	small := st
	small.Size = math.Max(st.Size*0.85, c.M.Least/c.M.Text)
	lines := []string{s}
	if c.M.Least > 0 && c.Width(s, small) > w {
		lines = c.Wrap(s, w, small)
		if lines = lines[:min(2, len(lines))]; len(lines) == 2 {
			lines[1] = strings.TrimLeft(s[strings.Index(s, lines[0])+len(lines[0]):], " ·")
		}
		st = small
	}
	lead := c.Lead(st) * 0.86
	for i, l := range lines {
		c.Fit(x, mid+c.Size(st)*0.35+lead*(float64(i)-float64(len(lines)-1)/2), w, l, st)
	}
}

// Lead is the distance of two baselines of a style, in units.
func (c *Canvas) Lead(st Style) float64 { return c.Size(st) * 1.42 }

// Para writes a text in lines no wider than w, the first baseline at y, and
// returns the baseline below the last.
func (c *Canvas) Para(x, y, w float64, s string, st Style) float64 {
	return c.Print(x, y, c.Block(s, w, st))
}

// Px is a length in pixels.
func (c *Canvas) Px(v float64) float64 { return v * c.M.Unit }

// hair is a width in units that is at least one pixel.
func (c *Canvas) hair(w float64) float64 { return math.Max(1, c.Px(w)) }

// Line draws a line with round ends.
func (c *Canvas) Line(x1, y1, x2, y2, w float64, col color.NRGBA) {
	c.pts = capsule(c.pts[:0], c.Px(x1), c.Px(y1), c.Px(x2), c.Px(y2), c.hair(w))
	c.ink.fill(c.Img, c.pts, col)
}

// Rule is a level line on whole pixels.
func (c *Canvas) Rule(x1, x2, y, w float64, col color.NRGBA) {
	h := math.Round(c.hair(w))
	c.ink.box(c.Img, math.Round(c.Px(x1)), math.Round(c.Px(y)-h/2), math.Round(c.Px(x2-x1)), h, col)
}

// Fill fills a rectangle with rounded corners.
func (c *Canvas) Fill(r Rect, radius float64, col color.NRGBA) {
	x, y := math.Round(c.Px(r.X)), math.Round(c.Px(r.Y))
	w, h := math.Round(c.Px(r.W)), math.Round(c.Px(r.H))
	if radius <= 0 {
		c.ink.box(c.Img, x, y, w, h, col)
		return
	}
	c.pts = roundRect(c.pts[:0], x, y, w, h, c.Px(radius))
	c.ink.fill(c.Img, c.pts, col)
}

// Frame draws the outline of a rectangle with rounded corners.
func (c *Canvas) Frame(r Rect, radius, w float64, col color.NRGBA) {
	c.pts = roundRect(c.pts[:0], math.Round(c.Px(r.X))+.5, math.Round(c.Px(r.Y))+.5, math.Round(c.Px(r.W))-1, math.Round(c.Px(r.H))-1, c.Px(radius))
	c.ink.stroke(c.Img, c.pts, c.hair(w), col, true)
}

// Disc fills a circle.
func (c *Canvas) Disc(x, y, r float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.Px(x), c.Px(y), c.Px(r), 0, 2*math.Pi)
	c.ink.fill(c.Img, c.pts[:len(c.pts)-1], col)
}

// Ring draws a circle.
func (c *Canvas) Ring(x, y, r, w float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.Px(x), c.Px(y), c.Px(r), 0, 2*math.Pi)
	c.ink.stroke(c.Img, c.pts[:len(c.pts)-1], c.hair(w), col, true)
}

// Bow is part of a circle, angles in radians.
func (c *Canvas) Bow(x, y, r, a0, a1, w float64, col color.NRGBA) {
	c.pts = arc(c.pts[:0], c.Px(x), c.Px(y), c.Px(r), a0, a1)
	c.ink.stroke(c.Img, c.pts, c.hair(w), col, false)
}

// Path strokes points given in units, each piece with round ends: at a sharp
// turn a stroke of one outline would thin out.
func (c *Canvas) Path(pts []Point, w float64, col color.NRGBA) {
	for i := 1; i < len(pts); i++ {
		if pts[i] != pts[i-1] {
			c.Line(pts[i-1].X, pts[i-1].Y, pts[i].X, pts[i].Y, w, col)
		}
	}
}

// Wedge fills a triangle, clockwise.
func (c *Canvas) Wedge(x1, y1, x2, y2, x3, y3 float64, col color.NRGBA) {
	c.pts = append(c.pts[:0], Point{c.Px(x1), c.Px(y1)}, Point{c.Px(x2), c.Px(y2)}, Point{c.Px(x3), c.Px(y3)})
	c.ink.fill(c.Img, c.pts, col)
}

// Dashes is a level dotted line.
func (c *Canvas) Dashes(x1, x2, y float64, col color.NRGBA) {
	for x := x1; x < x2; x += 9 {
		c.Rule(x, math.Min(x+2.5, x2), y, 1.4, col)
	}
}

// pixelRect returns the whole pixels a rectangle covers.
func (c *Canvas) pixelRect(r Rect) image.Rectangle {
	return image.Rect(int(math.Floor(c.Px(r.X))), int(math.Floor(c.Px(r.Y))),
		int(math.Ceil(c.Px(r.Right()))), int(math.Ceil(c.Px(r.Bottom())))).Intersect(c.Img.Bounds())
}
