package game

import (
	"math"
	"slices"

	"slowneedle/audio/desk"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// slider is a long throw, linear from bottom to top: a fader in dB, or a
// number that a drill asks for.
type slider struct {
	x, top, bottom float64
	lo, hi, step   float64
	small          bool    // little room beside it
	bare           bool    // none at all: another's figures count
	width          float64 // of its column, if it is small
}

// The marks of a fader, those first that keep their figures where there is
// little room.
var faderMarks = []float64{0, 12, -36, -12, -24, 6, -6, -18, -30, 3, -3, -9}

func newFader(x, top, bottom float64) slider {
	return slider{x: x, top: top, bottom: bottom, lo: desk.FaderMin, hi: desk.FaderMax, step: 0.1}
}

func (f slider) y(v float64) float64 {
	return f.bottom - (f.bottom-f.top)*(v-f.lo)/(f.hi-f.lo)
}

// value is the setting at a height, in whole steps and within the travel.
func (f slider) value(y float64) float64 {
	return f.clamp(f.lo + (f.bottom-y)/(f.bottom-f.top)*(f.hi-f.lo))
}

func (f slider) clamp(v float64) float64 {
	steps := math.Round(1 / f.step)
	return math.Max(f.lo, math.Min(f.hi, math.Round(v*steps)/steps))
}

func (f slider) knob(v float64) draw.Rect {
	if f.small {
		return draw.R(f.x-24, f.y(v)-12, 48, 24)
	}
	return draw.R(f.x-32, f.y(v)-15, 64, 30)
}

// track is where a press takes hold of the knob.
func (f slider) track() draw.Rect {
	w := 48.0
	if f.small {
		w = 30
	}
	return draw.R(f.x-w, f.top-18, 2*w, f.bottom-f.top+36)
}

// moving is what the knob can cover.
func (f slider) moving() draw.Rect {
	k := f.knob(f.hi)
	return draw.R(k.X-2, f.top-k.H/2-2, k.W+4, f.bottom-f.top+k.H+4)
}

// marks are the figures beside the slider.
func (f slider) marks() []float64 {
	if f.lo == desk.FaderMin && f.hi == desk.FaderMax {
		return faderMarks
	}
	var all []float64
	for v := f.lo; v <= f.hi; v += 5 {
		all = append(all, v)
	}
	return all
}

func drawTrack(c *draw.Canvas, f slider, s *words.Speech) {
	c.Line(f.x, f.top, f.x, f.bottom, 10, c.Theme.Faint)
	size, long, near := 15.0, 18.0, 20.0
	if f.small {
		size, long, near = 13, 7, 15
	}
	var written []float64
	for _, d := range f.marks() {
		y := f.y(d)
		c.Line(f.x-near-long, y, f.x-near, y, 1.5, c.Theme.Dim)
		if f.bare {
			continue
		}
		if slices.ContainsFunc(written, func(o float64) bool { return math.Abs(o-y) < size*1.2*c.M.Text }) {
			continue
		}
		written = append(written, y)
		label := s.ShortSigned(d)
		if f.lo >= 0 {
			label = s.Short(d)
		}
		c.Text(f.x-near-long-7, y+size*0.36*c.M.Text, label, draw.Style{Size: size, Color: c.Theme.Dim, Align: draw.Right})
	}
}

func drawKnob(c *draw.Canvas, f slider, v float64) {
	k := f.knob(v)
	c.Fill(k, 8, c.Theme.Ink)
	c.Line(k.X+11, k.Y+k.H/2, k.Right()-11, k.Y+k.H/2, 3, c.Theme.Ground)
}
