package game

import "math"

// The grid: a screen is at least gridW by gridH units, margins and gaps are
// whole units, and one unit is as many pixels as the window allows.
const (
	gridW  = 1280
	gridH  = 800
	margin = 48
	// Phones: held upright, and lying. Their grids are coarser, so that text and
	// buttons stay large enough.
	uprightW, uprightH = 680, 1100
	lyingW, lyingH     = 1120, 640
	lyingBelow         = 480 // points of height
	// smallest window in which a screen can be drawn, in points, and the least
	// of its longer side
	minSide, minLong = 300, 480
	// the smallest useful text is this share of its size at 1280x800
	minTextUnit = 0.9
	maxText     = 1.5
	// A window whose shorter side is less than this, in points, is a phone's: it
	// is worked by fingers, and the names of keys are left out.
	phoneBelow   = 600
	maxPhoneText = 1.75
	// What a finger must hit, and the smallest letters, in points. WCAG 2.2 asks
	// for 24 (SC 2.5.8), and for 44 at its strictest (SC 2.5.5); the size of letters
	// is common practice.
	fingerPoints, leastPoints = 44, 11
)

// metrics is the size of a window in the grid's terms.
type metrics struct {
	pxW, pxH int     // pixels
	unit     float64 // pixels in a unit
	w, h     float64 // units
	text     float64 // factor on text sizes
	upright  bool    // higher than wide
	lying    bool    // a phone on its side
	phone    bool
	finger   float64 // least height of what is touched, in units; 0 where there is a mouse
	least    float64 // smallest letters, in units; 0 where there is room
	tooSmall bool
}

// measure lays the grid over a window of pxW by pxH pixels, scale of them to a
// point, with text at a factor of textScale.
func measure(pxW, pxH int, scale, textScale float64) metrics {
	m := metrics{pxW: max(1, pxW), pxH: max(1, pxH)}
	if scale <= 0 {
		scale = 1
	}
	w, h := float64(m.pxW)/scale, float64(m.pxH)/scale
	gw, gh := float64(gridW), float64(gridH)
	switch {
	case w < 0.85*h:
		gw, gh = uprightW, uprightH
		m.upright = true
	case h < lyingBelow:
		gw, gh = lyingW, lyingH
		m.lying = true
	}
	m.unit = math.Min(float64(m.pxW)/gw, float64(m.pxH)/gh)
	m.w, m.h = float64(m.pxW)/m.unit, float64(m.pxH)/m.unit
	most := maxText
	if m.phone = math.Min(w, h) < phoneBelow && (m.upright || m.lying); m.phone {
		most = maxPhoneText
	}
	if m.upright || m.lying {
		m.least = leastPoints * scale / m.unit
		m.finger = fingerPoints * scale / m.unit
	}
	m.text = math.Max(textScale, math.Min(most, minTextUnit*scale/m.unit))
	m.tooSmall = math.Min(w, h) < minSide || math.Max(w, h) < minLong
	return m
}
