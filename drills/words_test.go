package drills

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

var flashesTold = regexp.MustCompile(`(?:seconds: |flashing )(\d+)`)

// What a sentence tells of the lamp is what the lamp does at that setting, counted
// by the desk's own meter over two turns of the loop, and never speaks against the
// verdict beside it.
func TestLampWords(t *testing.T) {
	codes := map[Code]bool{}
	for _, drill := range []string{SetTake, LampCount} {
		for _, level := range []int{1, 5, 14, 20} {
			for index := range 2 {
				tape := TapeRig()
				e, err := NewExercise(drill, 3, index, level, Settings{Rig: &tape})
				if err != nil {
					t.Fatal(err)
				}
				s := e.Channels[0]
				for off := -8.0; off <= 12; off += 0.5 {
					v := judged(t, e, at(min(s.AimDB+off, 12)))
					codes[v.Code] = true
					flashes := int(math.Round(CountSeconds * v.FlicksPerS))
					if told := flashesTold.FindStringSubmatch(v.Reason); told != nil && told[1] != itoa(flashes) {
						t.Errorf("%d flashes: %s", flashes, v.Reason)
					}
					over := s.SamplePeakDBFS + v.FaderDB - e.Rig.LampDBFS
					dark := over < 0
					if strings.Contains(v.Reason, "lamp is dark") != (dark && v.Zone == ZoneDark) && drill == SetTake &&
						(v.Code == codeLampCold || v.Code == codeLampNearCold) {
						t.Errorf("peaks %.1f dB over the lamp: %s", over, v.Reason)
					}
					if strings.Contains(v.Reason, "where one to three are right") && flashes >= 1 && flashes <= 3 {
						t.Errorf("%d flashes: %s", flashes, v.Reason)
					}
					if strings.Contains(v.Reason, "; one to three are right") != (v.InWindow && flashes >= 1 && flashes <= 3 && v.Zone == ZoneSparing) && drill == LampCount {
						t.Errorf("%d flashes, in the window %v: %s", flashes, v.InWindow, v.Reason)
					}
				}
			}
		}
	}
	for _, c := range []Code{codeLampIn, codeLampNear, codeLampNearCold, codeLampHot, codeLampHotFew, codeLampCold, codeLampColdLit,
		codeCountIn, codeCountNear, codeCountNearCold, codeCountHot, codeCountHotFew, codeCountLit, codeCountCold, codeCountColdLit} {
		if !codes[c] {
			t.Errorf("no take came to %s", c)
		}
	}
}

func itoa(n int) string { return strings.TrimSpace(number(float64(n))) }

// A ride that was missed all the way is told how far, one that was never moved is
// not called ridden, and only what was done is named.
func TestRideWords(t *testing.T) {
	for index := range 6 {
		e := exercise(t, Ride, 4, index)
		low, high := e.ShowMe(), e.ShowMe()
		for i := range low.Moves {
			low.Moves[i].To = max(low.Moves[i].To-6, -36)
		}
		for i := range high.Moves {
			high.Moves[i].To = min(high.Moves[i].To+9, 12)
		}
		for _, row := range []struct {
			take Take
			want []Code
		}{
			{e.ShowMe(), []Code{codeRideIn}},
			{low, []Code{codeRideLow}},
			{high, []Code{codeRideOverHigh, codeRideHigh}},
			{Take{LockAt: rideSeconds * audio.Rate}, []Code{codeRideStill, codeRideStillOver}},
		} {
			v := judged(t, e, row.take)
			if v.Code != row.want[0] && (len(row.want) < 2 || v.Code != row.want[1]) {
				t.Errorf("round %d: %s: %s %s; want %s", index, v.Code, v.Headline, v.Reason, row.want)
			}
			if v.InWindow != (v.Code == codeRideIn) {
				t.Errorf("round %d: in the window %v: %s", index, v.InWindow, v.Reason)
			}
		}
	}
}

// The aim in a sentence is never the reading that was wrong.
func TestAimIsNotTheReading(t *testing.T) {
	eachRound(t, func(t *testing.T, e *Exercise) {
		w := e.Channels[0].WindowDB
		for _, fader := range []float64{w[0] - 0.5, w[1] + 0.5} {
			v := judged(t, e, at(fader))
			if aim, reading := signed(v.AimVU, 0)+" VU", signed(v.ReadingVU, 1)+" VU"; strings.TrimSuffix(reading, ".0 VU")+" VU" == aim &&
				math.Abs(v.ErrorDB) < aimTenthDB && strings.Contains(v.Reason, "near "+aim) {
				t.Errorf("%s %s", v.Headline, v.Reason)
			}
		}
	})
}

func TestFaderNames(t *testing.T) {
	for _, row := range []struct{ channels, want string }{
		{"B", "fader B"}, {"B, D", "fader B and fader D"}, {"A, B, C", "fader A, fader B and fader C"},
		{"kick, guitar 2", "the kick fader and the guitar 2 fader"}, {"B voice", "the B voice fader"},
		{"left, right", "the left fader and the right fader"},
	} {
		if got := (Words{}).faders(row.channels); got != row.want {
			t.Errorf("%s: %q, want %q", row.channels, got, row.want)
		}
	}
}

// A ratio that is better than that of the best setting, with its 6 dB of headroom, is told
// as what it is, by the arithmetic of the tests.
func TestChainAbove(t *testing.T) {
	for index, row := range chainSteps[:2] {
		e := exercise(t, Chain, uint64(index), row.level)
		source, peaks, best := chainSeen(t, e)
		set := best
		set[preampStage] += 2
		set[faderStage] -= 2
		if e.Stages[preampStage].Fixed || e.Stages[faderStage].Fixed {
			t.Fatal("a stage is fixed")
		}
		var take Take
		for i, s := range e.Stages {
			if !s.Fixed {
				take.Moves = append(take.Moves, Move{Control: 1 + i, To: set[i] - s.HiddenDB})
			}
		}
		snr, _, room := row.at(source, peaks, set)
		top, _, _ := row.at(source, peaks, best)
		v := judged(t, e, take)
		if want := fmt.Sprintf("S/N is %.1f dB above", snr-top); !v.InWindow || snr-top < 1 || room < 3 || !strings.Contains(v.Reason, want) {
			t.Errorf("step %d: %q, want %q", row.level, v.Reason, want)
		}
		if v := judged(t, e, e.ShowMe()); !strings.Contains(v.Reason, "S/N is 0.0 dB below") {
			t.Errorf("step %d: %q", row.level, v.Reason)
		}
	}
}

// A share that is not yet three quarters is not told as 75 %.
func TestShareIsNotRoundedUp(t *testing.T) {
	v := Verdict{Code: codeRideOut, Share: 0.7499}
	if headline, reason := v.Sentences(English); !strings.Contains(headline, "Only 74 %") || !strings.Contains(reason, "only 74 %") {
		t.Errorf("%s %s", headline, reason)
	}
	e := exercise(t, Ride, 1, 3)
	if f := e.Figures(v)[1]; f.String() != "74 %" {
		t.Errorf("%s: %s", f.Name, f)
	}
	v.Code, v.Share = codeRideIn, 0.57
	if _, reason := v.Sentences(English); !strings.Contains(reason, "57 %") {
		t.Error(reason)
	}
}

// No sentence has a minus before a zero: a tone's peaks may come out a hair below its needle.
func TestNoMinusBeforeZero(t *testing.T) {
	below := 0
	for i := range 12 {
		e, err := NewExercise(CallUnder, 9, i, 1, Settings{Family: source.Steady})
		if err != nil {
			t.Fatal(err)
		}
		if u := e.Channels[0].UnderReadDB; u < 0 && u > -0.05 {
			below++
		}
		called := 15.0
		v := judged(t, e, Take{Number: &called})
		for _, said := range []string{v.Headline, v.Reason, e.Solution.String()} {
			if strings.Contains(strings.ReplaceAll(said, "−", "-"), "-0.0") {
				t.Error(said)
			}
		}
	}
	if below == 0 {
		t.Error("no tone here has its peaks below its needle: the test tests nothing")
	}
}
