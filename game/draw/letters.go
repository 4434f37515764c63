package draw

import (
	"math"
	"strings"
	"unicode/utf8"

	"github.com/hajimehoshi/ebiten/v2"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"slowneedle/game/page"
)

// face is a font in a size, with the letters that have been drawn of it.
type face struct {
	font.Face
	font     *opentype.Font
	size     float64 // pixels
	letters  map[letterKey]letter
	advances map[string]fixed.Int26_6
}

// letterKey is a letter at one of four places between two pixels, or a run of letters
// that the font lacks.
type letterKey struct {
	text string
	part fixed.Int26_6
}

// letter is the picture of one, nil if there is nothing to be seen, with the place of
// its upper left corner from the pixel on the baseline at which it begins.
type letter struct {
	picture *ebiten.Image
	x, y    int
}

// newFace is a font in a size in pixels.
func newFace(f *opentype.Font, size float64) *face {
	of, err := opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72})
	if err != nil {
		panic("draw: the built-in font has no such size: " + err.Error())
	}
	return &face{of, f, size, map[letterKey]letter{}, map[string]fixed.Int26_6{}}
}

// has reports whether the font has a letter.
func (f *face) has(r rune) bool {
	index, err := f.font.GlyphIndex(nil, r)
	return err == nil && index != 0
}

// Has reports whether every letter of a text can be drawn; boxes stand for the others.
func Has(s string) bool {
	f := &face{font: regularFont}
	return page.Browser || !strings.ContainsFunc(s, func(r rune) bool { return !f.has(r) })
}

// first is the first letter of a text. Where the browser draws those that the font
// lacks it is all of them, with the spaces between, up to one that the font has: their
// order and their shape may depend on each other.
func (f *face) first(s string) string {
	drawn := page.Browser
	for i, r := range s {
		if drawn = drawn && (!f.has(r) || r == ' ' && i > 0); !drawn && i > 0 {
			return s[:i]
		}
	}
	return s
}

// foreign is letters that the font lacks, as the browser draws them.
func (f *face) foreign(s string) (page.Letter, bool) {
	r, _ := utf8.DecodeRuneInString(s)
	if !page.Browser || f.has(r) {
		return page.Letter{}, false
	}
	return page.Draw(s, f.size, f.font == boldFont)
}

// letter is a letter that begins at a part of a pixel.
func (f *face) letter(s string, part fixed.Int26_6) letter {
	key := letterKey{s, part}
	l, known := f.letters[key]
	if known {
		return l
	}
	r, _ := utf8.DecodeRuneInString(s)
	if there, ok := f.foreign(s); ok {
		l.x, l.y = there.X, there.Y
		l.picture = chalk(there.Alpha, there.Width)
	} else if place, mask, from, _, ok := f.Glyph(fixed.Point26_6{X: part}, r); ok && !place.Empty() {
		l.x, l.y = place.Min.X, place.Min.Y
		alpha := make([]byte, 0, place.Dx()*place.Dy())
		for y := range place.Dy() {
			for x := range place.Dx() {
				_, _, _, a := mask.At(from.X+x, from.Y+y).RGBA()
				alpha = append(alpha, byte(a>>8))
			}
		}
		l.picture = chalk(alpha, place.Dx())
	}
	f.letters[key] = l
	return l
}

// chalk is white of so much cover, in rows of a width.
func chalk(alpha []byte, width int) *ebiten.Image {
	if len(alpha) == 0 {
		return nil
	}
	pixels := make([]byte, 0, 4*len(alpha))
	for _, v := range alpha {
		pixels = append(pixels, v, v, v, v)
	}
	picture := ebiten.NewImage(width, len(alpha)/width)
	picture.WritePixels(pixels)
	return picture
}

// walk calls do for each letter of a text with where it begins, in pixels from the
// text's beginning, and returns where the text ends. apart is added between letters.
// The fonts have no kerning.
func (f *face) walk(s string, apart float64, do func(letter string, at fixed.Int26_6)) float64 {
	at := fixed.Int26_6(0)
	for s != "" {
		letter := f.first(s)
		if do != nil {
			do(letter, at)
		}
		at += f.advance(letter) + fixed.Int26_6(math.Round(64*apart))
		s = s[len(letter):]
	}
	return float64(at) / 64
}

// advance is how far the next letter stands behind one.
func (f *face) advance(letter string) fixed.Int26_6 {
	a, known := f.advances[letter]
	if !known {
		r, _ := utf8.DecodeRuneInString(letter)
		a, _ = f.GlyphAdvance(r)
		if there, ok := f.foreign(letter); ok {
			a = fixed.Int26_6(math.Round(64 * there.Advance))
		}
		f.advances[letter] = a
	}
	return a
}

// write draws a text with its beginning on the baseline at a pixel.
func (f *face) write(on *ebiten.Image, s string, apart, x, y float64, tint ebiten.ColorScale) {
	const quarter = 64 / 4
	f.walk(s, apart, func(letter string, at fixed.Int26_6) {
		at = (at + quarter/2) / quarter * quarter
		l := f.letter(letter, at&63)
		if l.picture == nil {
			return
		}
		op := ebiten.DrawImageOptions{ColorScale: tint}
		op.GeoM.Translate(x+float64(at>>6)+float64(l.x), y+float64(l.y))
		on.DrawImage(l.picture, &op)
	})
}
