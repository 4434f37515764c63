package widget

import (
	"math"

	"slowneedle/game/draw"
)

// Moving are the parts of a screen that move, as they were drawn last: each is drawn again
// only when it looks different, so that a frame in which nothing moved costs nothing. The
// zero value has none.
type Moving struct{ parts map[partID]part }

// partID is one of several parts of a kind.
type partID struct {
	kind string
	i    int
}

// part is how a part looked, and what it covers.
type part struct {
	look   any
	covers []draw.Rect
}

// Paint draws part i of a kind if its look, compared by ==, has changed: what it
// covered is put back, and paint draws it and returns what it covers now.
func (m *Moving) Paint(c *draw.Canvas, kind string, i int, look any, paint func() (covers []draw.Rect)) {
	id := partID{kind, i}
	was, drawn := m.parts[id]
	if drawn && was.look == look {
		return
	}
	for _, r := range was.covers {
		c.Restore(r)
	}
	if m.parts == nil {
		m.parts = map[partID]part{}
	}
	m.parts[id] = part{look, paint()}
}

// Needles draws the needles of face i at one or two deflections, see DrawNeedles.
func (m *Moving) Needles(c *draw.Canvas, i int, f Face, width float64, at ...float64) {
	pixel := 0.15 / (sweepAngle * c.Px(f.R))
	var look [2]float64
	for k, d := range at {
		look[k] = math.Round(d / pixel)
	}
	m.Paint(c, "needles", i, look, func() []draw.Rect { return DrawNeedles(c, f, width, at...) })
}

// Lamp draws lamp i, see DrawLamp.
func (m *Moving) Lamp(c *draw.Canvas, i int, l LampPlace, lit bool, share float64, name, over string) {
	type look struct {
		lit   bool
		share float64
	}
	m.Paint(c, "lamp", i, look{lit, share}, func() []draw.Rect {
		DrawLamp(c, l, lit, share, name, over)
		return []draw.Rect{l.Area(c.M.Text)}
	})
}

// Restart has every part drawn again: the static layer was put over them.
func (m *Moving) Restart() { clear(m.parts) }

// DynamicRects adds where the parts stand now.
func (m *Moving) DynamicRects(_ *draw.Canvas, add func(draw.Rect)) {
	for _, p := range m.parts {
		for _, r := range p.covers {
			add(r)
		}
	}
}
