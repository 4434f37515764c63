package drills

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestStandingRigs(t *testing.T) {
	for _, row := range []struct {
		name                                        string
		rig                                         Rig
		reference, target, tolerance, ceiling, lamp float64
	}{
		{"common practice; alignment level of EBU R 68", DigitalRig(), -18, 0, 1, -3, -6},
		{"SMPTE RP 155", FilmRig(), -20, 0, 1, -3, -6},
		{"tape, lamp at +6 VU (common practice)", TapeRig(), -18, 0, 1, -12, -12},
	} {
		r := row.rig
		if r.ReferenceDBFS != row.reference || r.TargetVU != row.target || r.ToleranceDB != row.tolerance ||
			r.CeilingDBFS != row.ceiling || r.LampDBFS != row.lamp {
			t.Errorf("%s: got %+v", row.name, r)
		}
		if err := r.Validate(); err != nil {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

func TestRigText(t *testing.T) {
	for _, row := range []struct {
		text, back string
		ceiling    float64
		lamp       float64
	}{
		{"digital", "digital", -3, -6},
		{"tape", "tape", -12, -12},
		{"digital:reference=-20,ceiling=-3,lamp=-6,target=0,tolerance=1", "digital:reference=-20", -3, -6},
		{"digital:ceiling=-8", "digital:ceiling=-8", -8, -11},
		{"digital:ceiling=-8,lamp=-8", "digital:ceiling=-8,lamp=-8", -8, -8},
		{"digital: lamp=-9 , target=-3", "digital:target=-3,lamp=-9", -3, -9},
		{"tape:reference=-14", "tape:reference=-14", -8, -8},
		{"tape:lamp=-9.5", "tape:lamp=-9.5", -9.5, -9.5},
	} {
		r, err := ParseRig(row.text)
		if err != nil {
			t.Errorf("%s: %v", row.text, err)
			continue
		}
		if r.String() != row.back || r.CeilingDBFS != row.ceiling || r.LampDBFS != row.lamp {
			t.Errorf("%s: got %s, ceiling %v, lamp %v", row.text, r, r.CeilingDBFS, r.LampDBFS)
		}
	}
}

func TestRigRefusals(t *testing.T) {
	for _, row := range []struct{ text, says string }{
		{"", "must begin with digital or tape"},
		{"vinyl", "must begin with digital or tape"},
		{"digital:", "no setting"},
		{"digital:refrence=-18", "no setting"},
		{"digital:reference", "not a number"},
		{"digital:reference=loud", "not a number"},
		{"digital:reference=NaN", "not a number"},
		{"digital:reference=-18,reference=-20", "given twice"},
		{"digital:reference=3", "out of range"},
		{"digital:ceiling=0", "out of range"},
		{"digital:tolerance=0", "out of range"},
		{"digital:ceiling=-18", "less than 1 dB of headroom above the target"},
		{"digital:lamp=-2", "above the ceiling"},
		{"tape:ceiling=-3", "no ceiling"},
		{"tape:lamp=-18", "less than 1 dB of headroom above the target"},
	} {
		_, err := ParseRig(row.text)
		if err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%q: got %v, want a sentence with %q", row.text, err, row.says)
		}
	}
}

func TestRigTextRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tenth := func(lo, hi int, label string) float64 { return float64(rapid.IntRange(lo, hi).Draw(t, label)) / 10 }
		r := DigitalRig()
		if rapid.Bool().Draw(t, "tape") {
			r = TapeRig()
		}
		r.ReferenceDBFS = tenth(-240, -160, "reference")
		r.TargetVU = tenth(-100, 0, "target")
		r.ToleranceDB = tenth(1, 60, "tolerance")
		r.CeilingDBFS = tenth(-100, -1, "ceiling")
		r.LampDBFS = r.CeilingDBFS + tenth(-100, 0, "lamp")
		if r.Soft() {
			r.CeilingDBFS = r.LampDBFS
			r.TargetVU -= 10
		}
		back, err := ParseRig(r.String())
		if err != nil || back != r {
			t.Fatalf("%s came back as %+v, %v", r, back, err)
		}
	})
}

func FuzzParseRig(f *testing.F) {
	f.Add("digital:reference=-20,ceiling=-3")
	f.Add("tape:lamp=-9")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRig(text)
		if err != nil {
			return
		}
		if back, err := ParseRig(r.String()); err != nil || back != r {
			t.Fatalf("%q gave %s, which came back as %+v, %v", text, r, back, err)
		}
	})
}
