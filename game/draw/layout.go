package draw

import "math"

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

// Inset is a rectangle smaller by dx at either side and by dy above and below.
func (r Rect) Inset(dx, dy float64) Rect {
	return Rect{r.X + dx, r.Y + dy, r.W - 2*dx, r.H - 2*dy}
}

// Block is a text broken into lines.
type Block struct {
	Lines []string
	Style Style
	Lead  float64 // distance of two baselines, in units
}

// Block breaks a text into lines no wider than w.
func (c *Canvas) Block(s string, w float64, st Style) Block {
	return Block{c.Wrap(s, w, st), st, c.Lead(st)}
}

// Shrink is Block in the largest size, from the style's own down to least, at
// which fits accepts it. If none does, it has the least size.
func (c *Canvas) Shrink(s string, w float64, st Style, least float64, fits func(Block) bool) Block {
	b := c.Block(s, w, st)
	for !fits(b) && st.Size > least {
		st.Size = math.Max(least, st.Size-0.5)
		b = c.Block(s, w, st)
	}
	return b
}

// Least is the smallest size of letters on a screen, in a style's terms; usual
// is the smallest where there is no hand-held screen to keep to.
func (c *Canvas) Least(usual float64) float64 { return math.Max(usual, c.M.Least/c.M.Text) }

// Height is the height of a block.
func (b Block) Height() float64 { return b.Lead * float64(len(b.Lines)) }

// Print writes a block with its first baseline at y, and returns the baseline
// below the last.
func (c *Canvas) Print(x, y float64, b Block) float64 {
	for _, l := range b.Lines {
		c.Text(x, y, l, b.Style)
		y += b.Lead
	}
	return y
}

// Middle writes a block with its middle at y.
func (c *Canvas) Middle(x, y float64, b Block) {
	c.Print(x, y-b.Lead*float64(len(b.Lines)-1)/2+b.Style.Size*c.M.Text*0.36, b)
}
