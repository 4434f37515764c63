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
		{"digital:reference=Inf", "not a number"},
		{"digital:reference=-Inf", "not a number"},
		{"digital:reference=-18,reference=-20", "given twice"},
		{"digital:reference=3", "out of range"},
		{"digital:ceiling=0", "out of range"},
		{"digital:tolerance=0", "out of range"},
		{"digital:ceiling=-18", "a ceiling of -18 dBFS leaves less than 1 dB of headroom above the target"},
		{"digital:ceiling=-17.1", "less than 1 dB of headroom above the target"},
		{"digital:lamp=-2", "above the ceiling"},
		{"tape:ceiling=-3", "no ceiling"},
		{"tape:lamp=-18", "the lamp at -18 dBFS leaves less than 1 dB of headroom above the target"},
	} {
		_, err := ParseRig(row.text)
		if err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%q: got %v, want a sentence with %q", row.text, err, row.says)
		}
	}
}

// Every setting may be what its range says, the ends included, and nothing beyond.
func TestRigRanges(t *testing.T) {
	for _, row := range []struct{ end, beyond, says string }{
		{"digital:reference=-40", "digital:reference=-40.5", "-40 to -6 dBFS"},
		{"digital:reference=-6", "digital:reference=-5.5", "-40 to -6 dBFS"},
		{"digital:target=-20", "digital:target=-20.5", "-20 to 3 VU"},
		{"digital:target=3", "digital:target=3.5", "-20 to 3 VU"},
		{"digital:tolerance=0.1", "digital:tolerance=0.05", "0.1 to 6 dB"},
		{"digital:tolerance=6", "digital:tolerance=6.5", "0.1 to 6 dB"},
		{"digital:reference=-40,ceiling=-30", "digital:reference=-40,ceiling=-30.5", "-30 to -0.1 dBFS"},
		{"digital:ceiling=-0.1", "digital:ceiling=-0.05", "-30 to -0.1 dBFS"},
		{"digital:lamp=-40", "digital:lamp=-40.5", "-40 to -0.1 dBFS"},
		{"digital:ceiling=-0.1,lamp=-0.1", "digital:lamp=-0.05", "-40 to -0.1 dBFS"},
		{"digital:ceiling=-17", "digital:ceiling=-17.1", "less than 1 dB"},
	} {
		r, err := ParseRig(row.end)
		if err != nil {
			t.Errorf("%s: %v", row.end, err)
		}
		if b, err := r.MarshalText(); err != nil || string(b) != row.end {
			t.Errorf("%s is written as %q, %v", row.end, b, err)
		}
		var back Rig
		if err := back.UnmarshalText([]byte(row.end)); err != nil || back != r {
			t.Errorf("%s is read as %+v, %v", row.end, back, err)
		}
		if err := back.UnmarshalText([]byte(row.beyond)); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: got %v, want a sentence with %q", row.beyond, err, row.says)
		}
		if back != r {
			t.Errorf("%s: a rig that can't be read leaves %+v behind", row.beyond, back)
		}
	}
	if b, err := (Rig{Medium: "digital"}).MarshalText(); err == nil {
		t.Errorf("a rig without settings is written as %q", b)
	}
}

// The digital line-ups that rounds are drawn from: 0 VU at -20 dBFS (SMPTE RP 155), -18
// (EBU R 68), -16 or -14 (common practice), with a ceiling of -6 or -3 (3 dB and more above
// the -9 dBFS that EBU R 68 permits on a quasi-peak meter) or -1 dBFS (EBU R 128), as far as
// that leaves 9 dB between them.
func TestDigitalLineUps(t *testing.T) {
	want := [][2]float64{
		{-20, -6}, {-20, -3}, {-20, -1},
		{-18, -6}, {-18, -3}, {-18, -1},
		{-16, -6}, {-16, -3}, {-16, -1},
		{-14, -3}, {-14, -1}, // up to -6 there are 8 dB
	}
	got := digitalRigs()
	if len(got) != len(want) {
		t.Fatalf("%d line-ups, want %d", len(got), len(want))
	}
	for i, r := range got {
		if r.ReferenceDBFS != want[i][0] || r.CeilingDBFS != want[i][1] || r.LampDBFS != want[i][1]-3 || r.TargetVU != 0 || r.ToleranceDB != 1 {
			t.Errorf("line-up %d: %+v, want 0 VU at %v dBFS and a ceiling of %v dBFS", i+1, r, want[i][0], want[i][1])
		}
	}
}

// Which rig a sound gets, worked out by hand from the sound's under-read u and the line-ups:
// with a margin of 3 dB the needle decides if u is at most the headroom less 3 dB, and only
// those come into question where the two differ by no more than 6 dB; on tape, whose lamp
// lights 6 dB above 0 VU, the needle decides if u is at most 6 dB and what the lamp is to
// stand above its first light.
func TestDrawRig(t *testing.T) {
	flashing := func(span float64) *lampProfile { // sparing up to so many dB over the first light
		at := map[float64]float64{0.5: 0}
		for i := range 12 {
			at[float64(i)+0.25] = -span - 0.05
		}
		return book(clicks(12, at))
	}
	const needle, peaks = 0.5, 0.49 // of a wish of 0.5
	for _, row := range []struct {
		name  string
		under float64
		span  float64 // its half is the lamp's place
		draw  draw
		want  string
	}{
		// Headroom less margin: 11, 14, 16 at -20; 9, 12, 14 at -18; 7, 10, 12 at -16; 8, 10 at -14.
		{"peaks, first", 10, 1, draw{peaks, 1, 0}, "digital:ceiling=-6"},
		{"peaks, second", 10, 1, draw{peaks, 1, 0.34}, "digital:reference=-16,ceiling=-6"},
		{"peaks, last", 10, 1, draw{peaks, 1, 0.99}, "digital:reference=-14"},
		{"peaks, the only one", 7.5, 1, draw{peaks, 1, 0.99}, "digital:reference=-16,ceiling=-6"},
		{"peaks by a little", 10.1, 1, draw{peaks, 1, 0.99}, "digital:reference=-14,ceiling=-1"},
		{"needle, first of eight", 10, 1, draw{needle, 1, 0}, "digital:reference=-20,ceiling=-6"},
		{"needle, third, which is just near enough", 10, 1, draw{needle, 1, 0.3}, "digital:reference=-20,ceiling=-1"},
		{"needle, third, where that is too far off", 9.9, 1, draw{needle, 1, 0.3}, "digital"},
		{"needle, last", 10, 1, draw{needle, 1, 0.99}, "digital:reference=-14,ceiling=-1"},
		{"none lets the needle: first of five that are near", 18, 1, draw{needle, 1, 0}, "digital:reference=-20"},
		{"none lets the needle: last of those", 18, 1, draw{needle, 1, 0.99}, "digital:reference=-16,ceiling=-1"},
		{"none lets the needle, one is near", 21.5, 1, draw{needle, 1, 0}, "digital:reference=-20,ceiling=-1"},
		{"none is near: first of all", 30, 1, draw{peaks, 1, 0}, "digital:reference=-20,ceiling=-6"},
		{"none is near: last of all", 30, 1, draw{peaks, 1, 0.99}, "digital:reference=-14,ceiling=-1"},

		{"tape, by its lamp", 6.6, 1, draw{peaks, 0.34, 0}, "tape"},
		{"tape, by its needle", 6.4, 1, draw{needle, 0.34, 0}, "tape"},
		{"tape, needle and lamp at once", 6.5, 1, draw{needle, 0.34, 0}, "tape"},
		{"drawn for digital", 6.4, 1, draw{needle, 0.35, 0}, "digital:reference=-20,ceiling=-6"}, // 35 in 100 are below
		{"its needle would decide", 6.4, 1, draw{peaks, 0.34, 0}, "digital:reference=-20,ceiling=-6"},
		{"its lamp would decide", 10, 1, draw{needle, 0.34, 0}, "digital:reference=-20,ceiling=-6"},
		{"its lamp is sparing over too little", 10, 0.2, draw{peaks, 0.34, 0}, "digital:ceiling=-6"},
		{"its lamp is sparing over just enough", 10, 0.3, draw{peaks, 0.34, 0}, "tape"},
		{"it is no matter where the needle decides", 5, 0.2, draw{needle, 0.34, 0}, "tape"},
		{"tape all the same, for no digital one lets the peaks", 6.6, 1, draw{peaks, 0.9, 0}, "tape"},
		{"but not where it must be digital", 6.6, 1, draw{peaks, 1, 0}, "digital:reference=-20,ceiling=-6"},
	} {
		v := level{reading: -20, peak: -20 + row.under, lamp: flashing(row.span), underOfReading: row.under, underOfPeak: row.under}
		got := drawRig(0.5, v, 1, row.draw)
		if got.String() != row.want {
			t.Errorf("%s: under-read %v dB: %s, want %s", row.name, row.under, got, row.want)
		}
	}
	// A tolerance of more than 3 dB is the margin, and every rig drawn has it.
	wide := drawRig(0.5, level{reading: -20, peak: -13, lamp: flashing(1)}, 5, draw{peaks, 1, 0})
	if wide.String() != "digital:reference=-16,tolerance=5,ceiling=-6" {
		t.Errorf("with a tolerance of 5 dB: %s", wide)
	}
	if tape := drawRig(0.5, level{reading: -20, peak: -15, lamp: flashing(1)}, 2, draw{needle, 0, 0}); tape.String() != "tape:tolerance=2" {
		t.Errorf("with a tolerance of 2 dB: %s", tape)
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
