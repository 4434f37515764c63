package draw

import (
	"image/color"
	"math"
	"testing"
)

// WCAG 2.2, success criterion 1.4.3: text has a contrast of at least 4.5:1;
// 1.4.11: parts of controls at least 3:1. The formula is checked against the
// two ends of its own scale and the grey that the recommendation's readers
// know as the lightest one allowed on white, #767676 at 4.54:1.
func TestContrast(t *testing.T) {
	white, black, grey := rgb(0xffffff), rgb(0), rgb(0x767676)
	for _, c := range []struct {
		a, b color.NRGBA
		want float64
	}{{white, black, 21}, {white, white, 1}, {white, grey, 4.54}} {
		if got := contrast(c.a, c.b); math.Abs(got-c.want) > 0.01 {
			t.Errorf("contrast %v on %v is %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
	for _, th := range []*Theme{&Slate, &Paper} {
		for name, fg := range map[string]color.NRGBA{"ink": th.Ink, "dim": th.Dim, "amber": th.Amber, "teal": th.Teal, "brick": th.Brick} {
			for on, bg := range map[string]color.NRGBA{"ground": th.Ground, "panel": th.Panel, "band": th.Band} {
				if on == "band" && name != "ink" {
					continue // only ink is written on the band
				}
				if got := contrast(fg, bg); got < 4.5 {
					t.Errorf("%s: %s on %s has a contrast of %.2f, want 4.5", th.Name, name, on, got)
				}
			}
		}
		// Words on a filled shape.
		for name, bg := range map[string]color.NRGBA{"ink": th.Ink, "amber": th.Amber} {
			if got := contrast(th.Ground, bg); got < 4.5 {
				t.Errorf("%s: ground on %s has a contrast of %.2f, want 4.5", th.Name, name, got)
			}
		}
	}
}

// contrast is the contrast ratio of two colours, 1 to 21 (WCAG 2.2, relative
// luminance and contrast ratio).
func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func luminance(c color.NRGBA) float64 {
	channel := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(c.R) + 0.7152*channel(c.G) + 0.0722*channel(c.B)
}
