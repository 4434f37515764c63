package widget

import (
	"math"

	"slowneedle/game/draw"
)

// plot is where levels stand, by their height.
type plot struct {
	draw.Rect
	top, bottom float64 // dB
}

// y is the height of a level.
func (p plot) y(db float64) float64 {
	return p.Y + p.H*math.Max(0, math.Min(1, (p.top-db)/(p.top-p.bottom)))
}

// drawAxis writes levels down the left side, from one down, and draws a rule at each:
// every so many dB, or a multiple of that where there is little room.
func (p plot) drawAxis(c *draw.Canvas, from, every float64, st draw.Style, label func(db float64) string) {
	st.Align = draw.Right
	step := every
	for p.H*step/(p.top-p.bottom) < 1.2*c.Size(st) && step < p.top-p.bottom {
		step += every
	}
	for db := from; db > p.bottom; db -= step {
		c.Rule(p.X, p.Right(), p.y(db), 1, c.Theme.Faint)
		c.Text(p.X-7, p.y(db)+c.Size(st)*0.36, label(db), st)
	}
}

// Errors is where errors stand from left to right, the aim in the middle.
type Errors struct {
	draw.Rect
	Span float64 // dB to either side; what is farther stands there
}

// At is the place of an error in dB.
func (e Errors) At(db float64) float64 {
	return e.X + e.W*(math.Max(-e.Span, math.Min(e.Span, db))+e.Span)/(2*e.Span)
}

// Between is the strip between two errors, as high as the place.
func (e Errors) Between(lo, hi float64) draw.Rect {
	return draw.R(e.At(lo), e.Y, e.At(hi)-e.At(lo), e.H)
}
