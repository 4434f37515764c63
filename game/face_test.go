package game

import (
	"math"
	"testing"

	"slowneedle/drills"
)

// The marks of a standard volume indicator (ANSI C16.5-1942, IEC 60268-17):
// 0 VU stands at 71 % of the full deflection, and the percent scale beside it
// is proportional to the amplitude: -6 VU stands at 50 % and -20 VU at 10 %.
func TestFaceIsProportionalToAmplitude(t *testing.T) {
	for _, c := range []struct{ vu, percent float64 }{
		{0, 100}, {-1, 89.1}, {-2, 79.4}, {-3, 70.8}, {-5, 56.2}, {-6, 50.1}, {-7, 44.7}, {-10, 31.6}, {-20, 10}, {math.Inf(-1), 0},
	} {
		if got := 100 * deflection(c.vu) / zeroVU; math.Abs(got-c.percent) > 0.06 {
			t.Errorf("%g VU stands at %.2f %%, want %.1f %%", c.vu, got, c.percent)
		}
	}
	if got := deflection(0); math.Abs(got-0.71) > 0.005 {
		t.Errorf("0 VU stands at %.3f of the scale, want 0.71", got)
	}
	if got := deflection(3); math.Abs(got-1) > 0.005 {
		t.Errorf("+3 VU stands at %.3f of the scale, want its end", got)
	}
	if got := deflection(40); got != pin {
		t.Errorf("+40 VU stands at %.3f, want the stop at %.2f", got, pin)
	}
}

func TestSlider(t *testing.T) {
	f := newFader(0, 100, 580) // 10 units a decibel
	for _, c := range []struct{ y, db float64 }{{100, 12}, {220, 0}, {580, -36}, {0, 12}, {900, -36}, {220.4, 0}, {221, -0.1}} {
		if got := f.value(c.y); math.Abs(got-c.db) > 1e-9 {
			t.Errorf("height %g is %g dB, want %g", c.y, got, c.db)
		}
	}
	for db := -36.0; db <= 12; db += 0.1 {
		db = f.clamp(db)
		if got := f.value(f.y(db)); got != db {
			t.Errorf("%g dB comes back from its height as %g", db, got)
		}
	}
}

// WCAG 2.2, success criterion 2.3.1: no more than three flashes in any
// one-second period, whatever the meter's lamp does.
func TestReducedFlashing(t *testing.T) {
	for name, lit := range map[string]func(i int) bool{
		"fast flutter":  func(i int) bool { return i%2 == 0 },
		"ten a second":  func(i int) bool { return i%6 == 0 },
		"four a second": func(i int) bool { return i%15 < 3 },
		"always":        func(int) bool { return true },
		"once a second": func(i int) bool { return i%60 == 0 },
	} {
		g := lampGate{reduced: true}
		var starts []float64
		was, on := false, 0.0
		for i := range 60 * 20 {
			now := float64(i) / 60
			is := g.show(now, lit(i))
			if is && !was {
				starts, on = append(starts, now), now
			}
			if was && !is && now-on < 0.3-1e-9 {
				t.Errorf("%s: the lamp was on for %.3f s only", name, now-on)
			}
			was = is
		}
		for i := range starts {
			if i >= 3 && starts[i]-starts[i-3] <= 1 {
				t.Errorf("%s: four flashes start within %.3f s", name, starts[i]-starts[i-3])
			}
		}
		if name == "once a second" && len(starts) != 20 {
			t.Errorf("%d flashes shown of 20 slow ones", len(starts))
		}
	}
	g := lampGate{}
	if !g.show(0, true) || g.show(0.01, false) {
		t.Error("without the reduced mode the lamp does not follow the meter")
	}
}

// IEC 60268-10, type IIa: mark 4 at the alignment level, 4 dB from mark to
// mark, 6 dB between 1 and 2.
func TestProgrammeScale(t *testing.T) {
	for _, c := range []struct{ db, mark float64 }{{12, 7}, {8, 6}, {4, 5}, {0, 4}, {-4, 3}, {-8, 2}, {-14, 1}} {
		if got := programmeMark(c.db); math.Abs(got-c.mark) > 1e-9 {
			t.Errorf("%+g dB stands at %.3f, want mark %g", c.db, got, c.mark)
		}
	}
	if got := programmeDeflection(math.Inf(-1)); got != 0 {
		t.Errorf("silence stands at %g, want the rest", got)
	}
}

// Before anything is heard every needle lies at its stop, not beyond the scale.
func TestMetersStartAtRest(t *testing.T) {
	s := &playScene{job: &job{ex: &drills.Exercise{}}, snap: atRest()}
	for i := range 2 {
		if p := deflection(s.level(i) + 18); p != 0 {
			t.Errorf("needle %d stands at %.2f of the scale before the sound, want 0", i, p)
		}
		if s.programme = true; s.deflect(s.level(i)+9) > 0 {
			t.Errorf("programme meter %d stands at %.2f of the scale before the sound, want 0", i, s.deflect(s.level(i)+9))
		}
		s.programme = false
	}
}
