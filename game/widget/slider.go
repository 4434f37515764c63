package widget

import (
	"math"
	"slices"

	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// Slider is a long throw: a fader in dB, linear from bottom to top, or a number that
// a drill asks for, on a ruler from left to right.
type Slider struct {
	X, Top, Bottom float64 // of a ruler, its left end and the height of its line
	Right          float64 // a ruler's right end; 0 for a fader
	Lo, Hi, Step   float64
	Small          bool    // little room beside it
	Bare           bool    // none at all: another's figures count
	Width          float64 // of its column, if it is small
}

// The marks of a fader, those first that keep their figures where there is
// little room.
var faderMarks = []float64{0, 12, -36, -12, -24, 6, -6, -18, -30, 3, -3, -9}

// NewFader is a slider with a fader's travel.
func NewFader(x, top, bottom float64) Slider {
	return Slider{X: x, Top: top, Bottom: bottom, Lo: desk.FaderMin, Hi: desk.FaderMax, Step: 0.1}
}

// ruler reports whether the slider runs from left to right.
func (f Slider) ruler() bool { return f.Right > 0 }

// Along is how far a point is along the slider: its height at a fader, at a ruler how
// far right it is.
func (f Slider) Along(x, y float64) float64 {
	if f.ruler() {
		return x
	}
	return y
}

// Stand is where a setting stands along the slider.
func (f Slider) Stand(v float64) float64 {
	share := 0.0
	if f.Hi > f.Lo {
		share = (v - f.Lo) / (f.Hi - f.Lo)
	}
	if f.ruler() {
		return f.X + (f.Right-f.X)*share
	}
	return f.Bottom - (f.Bottom-f.Top)*share
}

// Value is the setting there, in whole steps and within the travel.
func (f Slider) Value(along float64) float64 {
	share := (f.Bottom - along) / (f.Bottom - f.Top)
	if f.ruler() {
		share = (along - f.X) / (f.Right - f.X)
	}
	return drills.Control{Min: f.Lo, Max: f.Hi, Step: f.Step}.Settle(f.Lo + share*(f.Hi-f.Lo))
}

// Knob is where the knob stands at a setting.
func (f Slider) Knob(v float64) draw.Rect {
	at := f.Stand(v)
	switch {
	case f.ruler():
		return draw.R(at-18, f.Top-44, 36, 40)
	case f.Small:
		return draw.R(f.X-24, at-12, 48, 24)
	}
	return draw.R(f.X-32, at-15, 64, 30)
}

// Track is where a press takes hold of the knob.
func (f Slider) Track() draw.Rect {
	if f.ruler() {
		return draw.R(f.X-18, f.Top-48, f.Right-f.X+36, 80)
	}
	w := 48.0
	if f.Small {
		w = 30
	}
	return draw.R(f.X-w, f.Top-18, 2*w, f.Bottom-f.Top+36)
}

// Moving is what the knob can cover.
func (f Slider) Moving() draw.Rect {
	if f.ruler() {
		return draw.R(f.X-20, f.Top-46, f.Right-f.X+40, 54)
	}
	k := f.Knob(f.Hi)
	return draw.R(k.X-2, f.Top-k.H/2-2, k.W+4, f.Bottom-f.Top+k.H+4)
}

// marks are the figures beside the slider.
func (f Slider) marks() []float64 {
	if f.Lo == desk.FaderMin && f.Hi == desk.FaderMax {
		return faderMarks
	}
	var all []float64
	every := math.Max(5, f.Step)
	for v := every * math.Ceil(f.Lo/every); v <= f.Hi; v += every {
		all = append(all, v)
	}
	return all
}

// DrawTrack draws what does not move of a slider.
func DrawTrack(c *draw.Canvas, f Slider, s *words.Speech) {
	if f.ruler() {
		drawRuler(c, f, s)
		return
	}
	c.Line(f.X, f.Top, f.X, f.Bottom, 10, c.Theme.Faint)
	size, long, near := 15.0, 18.0, 20.0
	if f.Small {
		size, long, near = 13, 7, 15
	}
	var written []float64
	for _, d := range f.marks() {
		y := f.Stand(d)
		c.Line(f.X-near-long, y, f.X-near, y, 1.5, c.Theme.Dim)
		if f.Bare {
			continue
		}
		if slices.ContainsFunc(written, func(o float64) bool { return math.Abs(o-y) < size*1.2*c.M.Text }) {
			continue
		}
		written = append(written, y)
		label := s.ShortSigned(d)
		c.Text(f.X-near-long-7, y+size*0.36*c.M.Text, label, draw.Style{Size: size, Color: c.Theme.Dim, Align: draw.Right})
	}
}

// drawRuler draws what does not move of a slider from left to right.
func drawRuler(c *draw.Canvas, f Slider, s *words.Speech) {
	st := draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Middle}
	c.Rule(f.X, f.Right, f.Top, 3, c.Theme.Ink)
	for _, d := range f.marks() {
		x := f.Stand(d)
		c.Line(x, f.Top, x, f.Top+12, 2, c.Theme.Ink)
		c.Text(x, f.Top+18+c.Size(st)*0.8, s.Short(d), st)
	}
}

// DrawKnob draws a slider's knob at a setting; on a ruler, an arrow, and how far it is
// from the end.
func DrawKnob(c *draw.Canvas, f Slider, v float64) {
	k := f.Knob(v)
	if f.ruler() {
		at := f.Stand(v)
		c.Line(f.X, f.Top-3, at, f.Top-3, 8, c.Theme.Ink)
		c.Wedge(k.X, k.Y, k.Right(), k.Y, at, f.Top-4, c.Theme.Ink)
		return
	}
	c.Fill(k, 8, c.Theme.Ink)
	c.Line(k.X+11, k.Y+k.H/2, k.Right()-11, k.Y+k.H/2, 3, c.Theme.Ground)
}
