package widget

import (
	"math"
	"testing"

	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// The marks of a standard volume indicator (ANSI C16.5-1942, IEC 60268-17):
// 0 VU stands at 71 % of the full deflection, and the percent scale beside it
// is proportional to the amplitude: -6 VU stands at 50 % and -20 VU at 10 %.
func TestFaceIsProportionalToAmplitude(t *testing.T) {
	for _, c := range []struct{ vu, percent float64 }{
		{0, 100}, {-1, 89.1}, {-2, 79.4}, {-3, 70.8}, {-5, 56.2}, {-6, 50.1}, {-7, 44.7}, {-10, 31.6}, {-20, 10}, {math.Inf(-1), 0},
	} {
		if got := 100 * Deflection(c.vu) / ZeroVU; math.Abs(got-c.percent) > 0.06 {
			t.Errorf("%g VU stands at %.2f %%, want %.1f %%", c.vu, got, c.percent)
		}
	}
	if got := Deflection(0); math.Abs(got-0.71) > 0.005 {
		t.Errorf("0 VU stands at %.3f of the scale, want 0.71", got)
	}
	if got := Deflection(3); math.Abs(got-1) > 0.005 {
		t.Errorf("+3 VU stands at %.3f of the scale, want its end", got)
	}
	if got := Deflection(40); got != pin {
		t.Errorf("+40 VU stands at %.3f, want the stop at %.2f", got, pin)
	}
}

func TestSlider(t *testing.T) {
	f := NewFader(0, 100, 580) // 10 units a decibel
	for _, c := range []struct{ y, db float64 }{{100, 12}, {220, 0}, {580, -36}, {0, 12}, {900, -36}, {220.4, 0}, {221, -0.1}} {
		if got := f.Value(c.y); math.Abs(got-c.db) > 1e-9 {
			t.Errorf("height %g is %g dB, want %g", c.y, got, c.db)
		}
	}
	for db := -36.0; db <= 12; db += 0.1 {
		db = drills.Control{Min: f.Lo, Max: f.Hi, Step: f.Step}.Settle(db)
		if got := f.Value(f.Stand(db)); got != db {
			t.Errorf("%g dB comes back from its height as %g", db, got)
		}
	}
}

// A ruler runs from left to right: 40 dB on 400 units.
func TestRuler(t *testing.T) {
	f := Slider{X: 100, Right: 500, Top: 300, Lo: 0, Hi: 40, Step: 0.5}
	for _, c := range []struct{ x, db float64 }{{100, 0}, {220, 12}, {222, 12}, {223, 12.5}, {500, 40}, {20, 0}, {900, 40}} {
		if got := f.Value(f.Along(c.x, 310)); got != c.db {
			t.Errorf("%g units along it is %g dB, want %g", c.x, got, c.db)
		}
	}
	if k := f.Knob(12); math.Abs(k.X+k.W/2-220) > 1e-9 || !f.Track().Has(220, k.Y+1) {
		t.Errorf("the arrow at 12 dB stands at %+v", k)
	}
}

// IEC 60268-10, type IIa: mark 4 at 0 dBu, 4 dB from mark to
// mark, 6 dB between 1 and 2.
func TestProgrammeScale(t *testing.T) {
	for _, c := range []struct{ dBu, mark float64 }{{12, 7}, {8, 6}, {4, 5}, {0, 4}, {-4, 3}, {-8, 2}, {-14, 1}} {
		vu := c.dBu - 4 // 0 VU is +4 dBu
		if got, want := ProgrammeDeflection(vu), programmeFirst+(c.mark-1)*programmeStep; math.Abs(got-want) > 1e-9 {
			t.Errorf("%+g dBu stands at %.3f of the scale, want mark %g at %.3f", c.dBu, got, c.mark, want)
		}
	}
	if got := ProgrammeDeflection(math.Inf(-1)); got != 0 {
		t.Errorf("silence stands at %g, want the rest", got)
	}
}

// On a face of any size no figure runs into another, and all lie beside the arc in its
// place; the ends of the scale and 0 are written wherever there is room for three.
func TestFiguresOfAFace(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	for width := 110.0; width <= 1200; width += 45 {
		for _, programme := range []bool{false, true} {
			small := width < 250
			place := draw.R(40, 60, width, width*0.7)
			written := map[string]bool{}
			items := draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, func(c *draw.Canvas) {
				f := FaceIn(place, 1)
				if small {
					f = SmallFaceIn(c, place)
				}
				f.Programme = programme && !small
				DrawFace(c, f, w)
			})
			for i, a := range items {
				written[a.Label] = true
				if p := a.Place; p.X < place.X || p.Right() > place.Right() || p.Y < place.Y || p.Bottom() > place.Bottom() {
					t.Errorf("%.0f wide: %q lies outside: %+v", width, a.Label, p)
				}
				for _, b := range items[:i] {
					if a.Place.Meets(b.Place) {
						t.Errorf("%.0f wide, programme meter %v: %q lies over %q", width, programme, a.Label, b.Label)
					}
				}
			}
			want := []string{"0", "+3"}
			if programme && !small {
				want = []string{"1", "4", "7"}
			}
			for _, label := range want {
				if !written[label] {
					t.Errorf("%.0f wide, programme meter %v: no %q among %v", width, programme, label, written)
				}
			}
		}
	}
}
