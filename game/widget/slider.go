package widget

import (
	"math"
	"slices"

	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// Slider is a long throw, linear from bottom to top: a fader in dB, or a
// number that a drill asks for.
type Slider struct {
	X, Top, Bottom float64
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

// Y is the height at which a setting stands.
func (f Slider) Y(v float64) float64 {
	if f.Hi <= f.Lo {
		return f.Bottom
	}
	return f.Bottom - (f.Bottom-f.Top)*(v-f.Lo)/(f.Hi-f.Lo)
}

// Value is the setting at a height, in whole steps and within the travel.
func (f Slider) Value(y float64) float64 {
	return drills.Control{Min: f.Lo, Max: f.Hi, Step: f.Step}.Settle(f.Lo + (f.Bottom-y)/(f.Bottom-f.Top)*(f.Hi-f.Lo))
}

// Knob is where the knob stands at a setting.
func (f Slider) Knob(v float64) draw.Rect {
	if f.Small {
		return draw.R(f.X-24, f.Y(v)-12, 48, 24)
	}
	return draw.R(f.X-32, f.Y(v)-15, 64, 30)
}

// Track is where a press takes hold of the knob.
func (f Slider) Track() draw.Rect {
	w := 48.0
	if f.Small {
		w = 30
	}
	return draw.R(f.X-w, f.Top-18, 2*w, f.Bottom-f.Top+36)
}

// Moving is what the knob can cover.
func (f Slider) Moving() draw.Rect {
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
	c.Line(f.X, f.Top, f.X, f.Bottom, 10, c.Theme.Faint)
	size, long, near := 15.0, 18.0, 20.0
	if f.Small {
		size, long, near = 13, 7, 15
	}
	var written []float64
	for _, d := range f.marks() {
		y := f.Y(d)
		c.Line(f.X-near-long, y, f.X-near, y, 1.5, c.Theme.Dim)
		if f.Bare {
			continue
		}
		if slices.ContainsFunc(written, func(o float64) bool { return math.Abs(o-y) < size*1.2*c.M.Text }) {
			continue
		}
		written = append(written, y)
		label := s.ShortSigned(d)
		if f.Lo >= 0 {
			label = s.Short(d)
		}
		c.Text(f.X-near-long-7, y+size*0.36*c.M.Text, label, draw.Style{Size: size, Color: c.Theme.Dim, Align: draw.Right})
	}
}

// DrawKnob draws a slider's knob at a setting.
func DrawKnob(c *draw.Canvas, f Slider, v float64) {
	k := f.Knob(v)
	c.Fill(k, 8, c.Theme.Ink)
	c.Line(k.X+11, k.Y+k.H/2, k.Right()-11, k.Y+k.H/2, 3, c.Theme.Ground)
}
