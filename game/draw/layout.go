package draw

import (
	"math"
	"slices"
	"strings"
)

// CutTop cuts a strip off the top of a rectangle; the rest may have no height.
func (r Rect) CutTop(h float64) (top, rest Rect) {
	h = math.Max(0, math.Min(h, r.H))
	return Rect{r.X, r.Y, r.W, h}, Rect{r.X, r.Y + h, r.W, r.H - h}
}

// CutBottom cuts a strip off the bottom of a rectangle.
func (r Rect) CutBottom(h float64) (bottom, rest Rect) {
	h = math.Max(0, math.Min(h, r.H))
	return Rect{r.X, r.Bottom() - h, r.W, h}, Rect{r.X, r.Y, r.W, r.H - h}
}

// CutRight cuts a strip off the right of a rectangle.
func (r Rect) CutRight(w float64) (right, rest Rect) {
	w = math.Max(0, math.Min(w, r.W))
	return Rect{r.Right() - w, r.Y, w, r.H}, Rect{r.X, r.Y, r.W - w, r.H}
}

// Meets reports whether two rectangles have a place in common.
func (r Rect) Meets(o Rect) bool {
	return r.X < o.Right() && o.X < r.Right() && r.Y < o.Bottom() && o.Y < r.Bottom()
}

// Columns splits a rectangle into n equal columns with gaps between them.
func (r Rect) Columns(n int, gap float64) []Rect {
	w := (r.W - gap*float64(n-1)) / float64(n)
	all := make([]Rect, n)
	for i := range all {
		all[i] = Rect{r.X + (w+gap)*float64(i), r.Y, w, r.H}
	}
	return all
}

// Rows splits a rectangle into n equal rows with gaps between them.
func (r Rect) Rows(n int, gap float64) []Rect {
	h := (r.H - gap*float64(n-1)) / float64(n)
	all := make([]Rect, n)
	for i := range all {
		all[i] = Rect{r.X, r.Y + (h+gap)*float64(i), r.W, h}
	}
	return all
}

// Part is one of several that stand under each other.
type Part struct {
	High  float64
	Above float64 // least height between it and the part over it
	Loose bool    // spare height goes there
	Drop  int     // where there is too little height, those with the highest go; those with 0 stay
	Draw  func(r Rect)
}

// Stack draws parts under each other from the top of a rectangle, as far as it has
// height for them; of what it has to spare no more than most goes to one place.
func Stack(r Rect, most float64, parts []Part) {
	spare, loose := 0.0, 0.0
	for {
		spare, loose = r.H, 0
		last := 0
		for i, p := range parts {
			spare -= p.High + p.Above
			if p.Loose {
				loose++
			}
			if p.Drop >= parts[last].Drop {
				last = i
			}
		}
		if spare >= 0 || len(parts) == 0 || parts[last].Drop == 0 {
			break
		}
		parts = slices.Delete(parts, last, last+1)
	}
	y := r.Y
	for _, p := range parts {
		y += p.Above
		if p.Loose {
			y += math.Max(0, math.Min(most, spare/loose))
		}
		p.Draw(Rect{r.X, y, r.W, p.High})
		y += p.High
	}
}

// TextPart is a block in a stack; r is where its lines stand.
func (c *Canvas) TextPart(b Block, above float64, drop int) Part {
	return Part{High: b.Height(), Above: above, Drop: drop, Draw: func(r Rect) { c.Print(r.X, r.Y+c.Size(b.Style), b) }}
}

// Inset is a rectangle smaller by dx at either side and by dy above and below.
func (r Rect) Inset(dx, dy float64) Rect {
	return Rect{r.X + dx, r.Y + dy, r.W - 2*dx, r.H - 2*dy}
}

// Block is a text broken into lines.
type Block struct {
	Lines []string
	Style Style
	Lead  float64 // distance of two baselines, in units
	W     float64 // no line is written wider; 0 if any may
}

// Block breaks a text into lines no wider than w, in the last of which no word stands
// alone if those above can spare it company.
func (c *Canvas) Block(s string, w float64, st Style) Block {
	lines := c.Wrap(s, w, st)
	last := len(lines) - 1
	for narrow := w * 0.96; last > 0 && narrow > w*0.75 && c.Width(lines[last], st) < w/5; narrow -= w * 0.04 {
		even := c.Wrap(s, narrow, st)
		if len(even) > len(lines) {
			break
		}
		lines = even
	}
	return Block{lines, st, c.Lead(st), w}
}

// Shrink is Block in the largest size, from the style's own down to least, at
// which fits accepts it. If none does, it has the least size.
func (c *Canvas) Shrink(s string, w float64, st Style, least float64, fits func(Block) bool) Block {
	b := c.Block(s, w, st)
	least = math.Max(least, c.M.Least/c.M.Text)
	for !fits(b) && st.Size > least {
		st.Size = math.Max(least, st.Size-0.5)
		b = c.Block(s, w, st)
	}
	return b
}

// Share divides a width between two texts that stand beside each other: each gets what
// it needs or, where there is too little for both, the same share of it.
func (c *Canvas) Share(w float64, left string, leftStyle Style, right string, rightStyle Style) (l, r float64) {
	l, r = c.Width(left, leftStyle), c.Width(right, rightStyle)
	if need := l + r; need > w {
		l, r = w*l/need, w*r/need
	}
	return l, r
}

// Least is the smallest size of letters on a screen, in a style's terms; usual
// is the smallest where the screen is not hand-held.
func (c *Canvas) Least(usual float64) float64 { return math.Max(usual, c.M.Least/c.M.Text) }

// Height is the height of a block.
func (b Block) Height() float64 { return b.Lead * float64(len(b.Lines)) }

// Print writes a block with its first baseline at y, and returns the baseline
// below the last.
func (c *Canvas) Print(x, y float64, b Block) float64 {
	for _, l := range b.Lines {
		if b.W > 0 { // an ellipsis may have made it wider
			c.Fit(x, y, b.W, l, b.Style)
		} else {
			c.Text(x, y, l, b.Style)
		}
		y += b.Lead
	}
	return y
}

// Middle writes a block with its middle at y.
func (c *Canvas) Middle(x, y float64, b Block) {
	c.Print(x, y-b.Lead*float64(len(b.Lines)-1)/2+c.Size(b.Style)*0.36, b)
}

// Cut is a block no higher than h: the lines that have no room go, and the last
// one that has ends in an ellipsis.
func (b Block) Cut(h float64) Block {
	if most := max(0, int(h/b.Lead+0.3)); len(b.Lines) > most {
		b.Lines = append([]string(nil), b.Lines[:most]...)
		if most > 0 {
			b.Lines[most-1] = strings.TrimRight(b.Lines[most-1], " ,.:;") + " …"
		}
	}
	return b
}

// Paragraphs writes texts one under the other, gaps of so many lines between
// them, in the largest size, from the style's own down, in which all have room
// in a rectangle; at the smallest size those that have none are left out. before,
// if it is not nil, gets the number of each, its first baseline and its style.
func (c *Canvas) Paragraphs(r Rect, texts []string, st Style, gap float64, before func(i int, y float64, st *Style)) {
	blocks := make([]Block, len(texts))
	for ; ; st.Size = math.Max(st.Size-0.5, 9) {
		high := 0.0
		for i, t := range texts {
			blocks[i] = c.Block(t, r.W, st)
			high += blocks[i].Height() + gap*c.Lead(st)
		}
		if high <= r.H+gap*c.Lead(st) || c.Size(st) <= math.Max(c.M.Least, 9*c.M.Text) {
			break
		}
	}
	y := r.Y + c.Size(st)
	for i, b := range blocks {
		if b = b.Cut(r.Bottom() - y + c.Size(st)); len(b.Lines) == 0 {
			return
		}
		if before != nil {
			before(i, y, &b.Style)
		}
		y = c.Print(r.X, y, b) + gap*b.Lead
	}
}
