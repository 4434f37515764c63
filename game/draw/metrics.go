package draw

import (
	"math"
)

// The grid: a screen is at least gridW by gridH units, margins and gaps are
// whole units, and one unit is as many pixels as the window allows.
const (
	GridW  = 1280
	GridH  = 800
	Margin = 48
	// Phones: held upright, and lying. Their grids are coarser, so that text and
	// buttons stay large enough.
	portraitW, portraitH   = 680, 1100
	landscapeW, landscapeH = 1120, 640
	landscapeBelow         = 480 // points of height
	// smallest window in which a screen can be drawn, in points, and the least
	// of its longer side
	minSide, minLong = 300, 480
	// the smallest useful text is this share of its size at 1280x800
	minTextUnit = 0.9
	MaxText     = 1.5
	// A window whose shorter side is less than this, in points, is a phone's: it
	// is worked by fingers, and the names of keys are left out.
	phoneBelow   = 600
	maxPhoneText = 1.75
	// What a finger must hit, and the smallest letters, in points. WCAG 2.2 asks
	// for 24 (SC 2.5.8), and for 44 at its strictest (SC 2.5.5); the size of letters
	// is common practice.
	FingerPoints, leastPoints = 44, 11
)

// Metrics is the size of a window in the grid's terms.
type Metrics struct {
	PxW, PxH  int     // pixels
	Unit      float64 // pixels in a unit
	W, H      float64 // units
	Text      float64 // factor on text sizes
	Portrait  bool    // higher than wide
	Landscape bool    // a phone on its side
	Phone     bool
	Finger    float64 // least height of what is touched, in units; 0 where there is a mouse
	Least     float64 // smallest letters, in units; 0 where there is room
	TooSmall  bool    // for any screen: a unit is a point, and one sentence is drawn
}

// Measure lays the grid over a window of pxW by pxH pixels, scale of them to a
// point, with text at a factor of textScale.
func Measure(pxW, pxH int, scale, textScale float64) Metrics {
	m := Metrics{PxW: max(1, pxW), PxH: max(1, pxH)}
	if scale <= 0 {
		scale = 1
	}
	w, h := float64(m.PxW)/scale, float64(m.PxH)/scale
	gw, gh := float64(GridW), float64(GridH)
	switch {
	case w < 0.85*h:
		gw, gh = portraitW, portraitH
		m.Portrait = true
	case h < landscapeBelow:
		gw, gh = landscapeW, landscapeH
		m.Landscape = true
	}
	m.Unit = math.Min(float64(m.PxW)/gw, float64(m.PxH)/gh)
	m.W, m.H = float64(m.PxW)/m.Unit, float64(m.PxH)/m.Unit
	most := MaxText
	if m.Phone = math.Min(w, h) < phoneBelow && (m.Portrait || m.Landscape); m.Phone {
		most = maxPhoneText
	}
	if m.Portrait || m.Landscape {
		m.Least = leastPoints * scale / m.Unit
		m.Finger = FingerPoints * scale / m.Unit
	}
	m.Text = math.Max(textScale, math.Min(most, minTextUnit*scale/m.Unit))
	if math.Min(w, h) < minSide || math.Max(w, h) < minLong {
		return Metrics{PxW: m.PxW, PxH: m.PxH, Unit: scale, W: w, H: h, Text: 1, TooSmall: true}
	}
	return m
}
