package game

import (
	"math"
	"slices"

	"slowneedle/audio/desk"
)

// faderPlace is a long-throw fader, linear in dB from bottom to top.
type faderPlace struct{ x, top, bottom float64 }

// The marks, those first that keep their figures where there is little room.
var faderMarks = []float64{0, 12, -36, -12, -24, 6, -6, -18, -30, 3, -3, -9}

func (f faderPlace) y(db float64) float64 {
	return f.bottom - (f.bottom-f.top)*(db-desk.FaderMin)/(desk.FaderMax-desk.FaderMin)
}

// db is the setting at a height, to 0.1 dB and within the travel.
func (f faderPlace) db(y float64) float64 {
	return clampFader(desk.FaderMin + (f.bottom-y)/(f.bottom-f.top)*(desk.FaderMax-desk.FaderMin))
}

func clampFader(db float64) float64 {
	return math.Max(desk.FaderMin, math.Min(desk.FaderMax, math.Round(db*10)/10))
}

func (f faderPlace) knob(db float64) rect { return rect{f.x - 32, f.y(db) - 15, 64, 30} }

// track is where a press takes hold of the fader.
func (f faderPlace) track() rect { return rect{f.x - 48, f.top - 18, 96, f.bottom - f.top + 36} }

func (c *canvas) drawFaderTrack(f faderPlace, s speech) {
	c.line(f.x, f.top, f.x, f.bottom, 10, c.th.faint)
	var written []float64
	for _, d := range faderMarks {
		y := f.y(d)
		c.line(f.x-38, y, f.x-20, y, 1.5, c.th.dim)
		if slices.ContainsFunc(written, func(o float64) bool { return math.Abs(o-y) < 18*c.m.text }) {
			continue
		}
		written = append(written, y)
		c.text(f.x-46, y+5.5*c.m.text, s.shortSigned(d), style{size: 15, c: c.th.dim, align: right})
	}
}

func (c *canvas) drawFaderKnob(f faderPlace, db float64) {
	k := f.knob(db)
	c.fill(k, 8, c.th.ink)
	c.line(k.x+11, k.y+k.h/2, k.right()-11, k.y+k.h/2, 3, c.th.ground)
}
