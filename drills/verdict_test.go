package drills

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
)

func at(fader float64) Take {
	return Take{Moves: []Move{{At: 48000, To: -30}, {At: 96000, To: fader}}, LockAt: 5 * audio.Rate}
}

func judge(t interface {
	Helper()
	Fatal(...any)
}, r *Exercise, take Take) Verdict {
	t.Helper()
	v, err := r.Judge(take)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestPoints(t *testing.T) {
	for _, row := range []struct {
		outside float64
		clipped bool
		points  int
	}{
		{0, false, 100}, {2, false, 50}, {4, false, 25}, {10, false, 3}, {-4, false, 50}, {-8, false, 25},
		{0.1, false, 97}, {-0.1, false, 98}, {0, true, 0}, {6, true, 0}, {-36, false, 0},
	} {
		if got := Points(row.outside, row.clipped); got != row.points {
			t.Errorf("%v dB outside, clipped %v: %d points, want %d", row.outside, row.clipped, got, row.points)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0, 48).Draw(t, "a")
		b := a + rapid.Float64Range(0, 10).Draw(t, "further")
		if Points(b, false) > Points(a, false) || Points(-b, false) > Points(-a, false) {
			t.Fatalf("%v dB out is worth more than %v", b, a)
		}
		if Points(a, false) > Points(-a, false) {
			t.Fatalf("%v dB hot is worth more than as much cold", a)
		}
	})
}

func TestVerdictInvariants(t *testing.T) {
	eachRound(t, func(t *testing.T, r *Exercise) {
		last := math.Inf(1)
		for fader := r.Channels[0].WindowDB[0]; fader <= desk.FaderMax; fader += 0.5 {
			v := judge(t, r, at(fader))
			if float64(v.Points) > last {
				t.Errorf("%s %s: more points at %v dB than lower", r.Family, r.Rig, fader)
			}
			last = float64(v.Points)
			if v.InWindow != (v.Points == 100) {
				t.Errorf("%s %s at %v dB: in the window %v, yet %d points", r.Family, r.Rig, fader, v.InWindow, v.Points)
			}
			// Of two channels one may read higher and the other have the highest peak: what
			// the channel with the peak under-reads is then more than the two levels differ
			// by, and what the one with the reading does is less.
			over := v.UnderReadDB - (r.Rig.CeilingDBFS - v.HeadroomDB - r.Rig.ReferenceDBFS - v.ReadingVU)
			stereo := len(r.Channels[0].Sound.Channels) == 2
			if over > 0.003 && !(stereo && v.DecidedBy != ByNeedle) || over < -0.003 && !(stereo && v.DecidedBy == ByNeedle) {
				t.Errorf("%s: levels disagree: %+v", r.Family, v)
			}
			if !r.Rig.Soft() && (v.Clipped > 0) != (r.Channels[0].SamplePeakDBFS+fader > 1e-6) && math.Abs(r.Channels[0].SamplePeakDBFS+fader) > 1e-6 {
				t.Errorf("%s: %d clipped with the peak at %v dBFS", r.Family, v.Clipped, r.Channels[0].SamplePeakDBFS+fader)
			}
			if strings.ContainsAny(v.Headline+v.Reason, "{}%") || !strings.HasSuffix(v.Reason, ".") {
				t.Errorf("%q %q", v.Headline, v.Reason)
			}
		}
		least := desk.FaderMin
		if r.Rig.Soft() { // whose damage takes long to work out
			least = max(least, r.Channels[0].WindowDB[0]-8)
		}
		for fader := r.Channels[0].WindowDB[0]; fader >= least; fader -= 0.5 {
			v := judge(t, r, at(fader))
			if v.Clipped > 0 || v.ErrorDB > 0 {
				t.Errorf("%s: cold, yet %+v", r.Family, v)
			}
		}
		if v := judge(t, r, r.ShowMe()); v.Points != 100 || v.ErrorDB != 0 {
			t.Errorf("%s %s: shown, the take is worth %d points: %s", r.Family, r.Rig, v.Points, v.Headline)
		}
	})
}

// The figures as they are written, and which of them warn: room that is used up, samples
// over full scale. The marks at the ends of a programme meter's scale are +8 VU and -18 VU
// at studio line level (IEC 60268-10, type IIa: 1 is -14 dBu, 7 is +12 dBu).
func TestFiguresOfAVerdict(t *testing.T) {
	for _, row := range []struct {
		figure Figure
		text   string
		tone   Tone
	}{
		{headroomFigure(Verdict{HeadroomDB: 0}), "+0.0 dB", ToneNone},
		{headroomFigure(Verdict{HeadroomDB: 0.44}), "+0.4 dB", ToneNone},
		{headroomFigure(Verdict{HeadroomDB: -0.46}), "-0.5 dB", ToneBad},
		{clippedFigure(Verdict{}), "0 samples", ToneNone},
		{clippedFigure(Verdict{Clipped: 1}), "1 sample", ToneBad},
		{clippedFigure(Verdict{Clipped: 2}), "2 samples", ToneBad},
		{askedFigure(Verdict{AimVU: -4.26}), "-4.3 VU", ToneNone},
		{aimFigure(Verdict{AimDB: -12.34}), "-12.3 dB", ToneNone},
		{underFigure(Verdict{UnderReadDB: 7.06}), "7.1 dB", ToneNone},
		{errorFigure(Verdict{ErrorDB: 0.25}), "+0.3 dB", ToneBad},
		{errorFigure(Verdict{InWindow: true}), "+0.0 dB", ToneGood},
		{errorFigure(Verdict{ErrorDB: -0.04}), "+0.0 dB", ToneBad}, // not -0.0
		{markFigure(Verdict{ReadingVU: 0}), "5.00", ToneNone},
		{markFigure(Verdict{ReadingVU: 8}), "7.00", ToneNone},
		{markFigure(Verdict{ReadingVU: 8.1}), "over mark 7", ToneNone},
		{markFigure(Verdict{ReadingVU: -18}), "1.00", ToneNone},
		{markFigure(Verdict{ReadingVU: -18.1}), "below mark 1", ToneNone},
	} {
		if got := row.figure.String(); got != row.text || row.figure.Tone != row.tone {
			t.Errorf("%s is written %q with tone %d, want %q with %d", row.figure.Name, got, row.figure.Tone, row.text, row.tone)
		}
	}
	list := rounds()[source.Voice][0].Figures(Verdict{Seconds: 12.34, MoveCount: 3})
	if n := len(list); n < 2 || list[n-2].String() != "12.3 s" || list[n-1].String() != "3" {
		t.Errorf("at the end of the figures: %v", list)
	}
}

// Nothing is scored finer than 0.1 dB: 0.04 dB outside is still inside.
func TestVerdictRounding(t *testing.T) {
	for _, row := range []struct{ fader, out float64 }{
		{-2, 0}, {-2.04, 0}, {-2.06, -0.1}, {-3, -1}, {0, 0}, {1, 0}, {1.04, 0}, {1.06, 0.1}, {3.25, 2.3},
	} {
		if got := outside(row.fader, [2]float64{-2, 1}); math.Abs(got-row.out) > 1e-9 {
			t.Errorf("%v dB lies %v dB outside -2 to 1, want %v", row.fader, got, row.out)
		}
	}
	// What has been moved by the lock counts, what comes at that very moment too.
	last := Take{Moves: []Move{{At: 3, To: -9}, {At: 5, To: -7}}, LockAt: 5}
	if got := rounds()[source.Voice][0].Setting(last, 0); got != -7 {
		t.Errorf("moved to -7 dB at the lock, the fader stands at %v", got)
	}
	take := Take{Moves: []Move{{To: 3.14}}, LockAt: 1}
	if got := rounds()[source.Voice][0].Setting(take, 0); got != 3.1 {
		t.Errorf("a fader put to 3.14 dB stands at %v, want its step 3.1", got)
	}
}

func TestTakeRefusals(t *testing.T) {
	r := rounds()[source.Steady][0]
	move := func(at int64, db float64) Move { return Move{At: at, To: db} }
	for _, row := range []struct {
		take Take
		says string
	}{
		{Take{LockAt: -1}, "negative"},
		{Take{LockAt: math.MaxInt64}, "four hours"},
		{Take{Moves: []Move{move(-5, 0)}, LockAt: 10}, "before the round starts"},
		{Take{Moves: []Move{move(20, 0)}, LockAt: 10}, "after the lock"},
		{Take{Moves: []Move{move(8, 0), move(7, 0)}, LockAt: 10}, "in order of time"},
		{Take{Moves: []Move{move(8, 12.1)}, LockAt: 10}, "its range is -36 to 12 dB"},
		{Take{Moves: []Move{move(8, math.NaN())}, LockAt: 10}, "its range is"},
		{Take{Moves: []Move{move(8, math.Inf(-1))}, LockAt: 10}, "its range is"},
		{Take{Moves: []Move{{At: 8, Control: 1}}, LockAt: 10}, "controls 0 to 0"},
		{Take{Moves: make([]Move, maxMoves+1), LockAt: 10}, "at most"},
	} {
		if v, err := r.Judge(row.take); err == nil || !strings.Contains(err.Error(), row.says) || v != (Verdict{}) {
			t.Errorf("got %+v, %v; want a sentence with %q", v, err, row.says)
		}
	}
	// No move at all is a take: the fader never left the bottom.
	if v := judge(t, r, Take{LockAt: 0}); v.FaderDB != desk.FaderMin || v.InWindow {
		t.Errorf("untouched: %+v", v)
	}
}
