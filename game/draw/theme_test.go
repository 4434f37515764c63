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
	for _, th := range []*Theme{ThemeNamed("slate", false), ThemeNamed("paper", false), ThemeNamed("slate", true), ThemeNamed("paper", true)} {
		for name, fg := range map[string]color.NRGBA{"ink": th.Ink, "dim": th.Dim, "amber": th.Amber, "teal": th.Teal, "brick": th.Brick, "warn": th.Warn} {
			for on, bg := range map[string]color.NRGBA{"ground": th.Ground, "panel": th.Panel, "band": th.Band} {
				if on == "band" && name != "ink" {
					continue // only ink is written on the band
				}
				if got := contrast(fg, bg); got < 4.5 {
					t.Errorf("%s: %s on %s has a contrast of %.2f, want 4.5", th.Name, name, on, got)
				}
			}
		}
		for _, c := range []struct {
			name string
			a, b color.NRGBA
			want float64
		}{
			// Words on a filled shape.
			{"ground on ink", th.Ground, th.Ink, 4.5},
			{"the word on the lamp", th.OnLit, th.Lit, 4.5},
			// Shapes that mean something (1.4.11).
			{"needle on ground", th.Needle, th.Ground, 3}, {"needle on panel", th.Needle, th.Panel, 3}, {"needle on band", th.Needle, th.Band, 3},
			{"peaks on panel", th.Peak, th.Panel, 3},
			{"focus on ground", th.Focus, th.Ground, 3}, {"focus on panel", th.Focus, th.Panel, 3},
			{"lamp lit and unlit", th.Lit, th.Unlit, 3},
			{"the lamp's ring and its lit fill", th.LampRing(), th.Lit, 3},
			// What is distinguished by more than its hue, for those who see none.
			{"amber and brick", th.Amber, th.Brick, 1.5},
			{"needle and arc", th.Needle, th.Ink, 1.4}, {"needle and arc from 0 VU on", th.Needle, th.Arc, 1.4},
			{"arc from 0 VU on and ground", th.Arc, th.Ground, 3},
		} {
			if got := contrast(c.a, c.b); got < c.want {
				t.Errorf("%s: %s have a contrast of %.2f, want %.1f", th.Name, c.name, got, c.want)
			}
		}
		if luminance(th.Lit) <= luminance(th.Unlit) {
			t.Errorf("%s: the lamp is darker lit than unlit", th.Name)
		}
		for name, other := range map[string]color.NRGBA{"right": th.Teal, "a warning": th.Warn, "the focus ring": th.Focus} {
			if other == th.Amber || other == th.Lit {
				t.Errorf("%s: %s has the colour of the lamp", th.Name, name)
			}
		}
	}
}

// The arc is red where that is asked for, and nowhere else.
func TestRedArc(t *testing.T) {
	for _, name := range []string{Slate.Name, Paper.Name} {
		if arc := ThemeNamed(name, true).Arc; arc.R < 2*max(arc.G, arc.B) {
			t.Errorf("%s: the red arc is %v", name, arc)
		}
		if plain := ThemeNamed(name, false); plain.Arc != plain.Ink {
			t.Errorf("%s: the arc that is not to be red is %v", name, plain.Arc)
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
