package drills

import (
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/meter"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/ladder"
)

// figure returns the last number that a pattern finds in a program's output.
func figure(t *testing.T, pattern, program string, args ...string) float64 {
	t.Helper()
	out, err := exec.Command(program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", program, args, err, out)
	}
	all := regexp.MustCompile(pattern).FindAllSubmatch(out, -1)
	if all == nil {
		t.Fatalf("%s %v: no %s in\n%s", program, args, pattern, out)
	}
	v, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// wave writes what a desk records, in float so that nothing is cut off.
func wave(t *testing.T, c desk.Config, moves []desk.Move, frames int64) string {
	t.Helper()
	c.Medium = medium.KindDigital
	take, err := desk.Render(c, moves, frames)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "take.wav")
	w, err := wavfile.Create(path, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 32, Float: true})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	if err := w.Write(take[:]); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func exercise(t *testing.T, id string, seed uint64, level int) *Exercise {
	t.Helper()
	e, err := NewExercise(id, seed, 0, level, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// A tone that is lined up as shown leaves the desk at the level asked for,
// measured by sox: a sine of x dBFS has x - 3.01 dB RMS (AES17).
func TestLineUpLevels(t *testing.T) {
	for level := 1; level <= ladder.Top; level += 2 {
		e := exercise(t, LineUp, uint64(level), level)
		take := e.ShowMe()
		// From when the last fader has come to rest.
		from := fmt.Sprint(float64(take.LockAt)/audio.Rate - 0.5)
		wav := wave(t, e.Desk(0), take.Moves, take.LockAt)
		for side := 1; side <= 2; side++ {
			rms := figure(t, `RMS lev dB +(\S+)`, "sox", wav, "-n", "remix", fmt.Sprint(side), "trim", from, "stats")
			want := e.Rig.ReferenceDBFS + e.Rig.TargetVU
			if got := rms + 20*math.Log10(math.Sqrt2); math.Abs(got-want) > 0.06 {
				t.Errorf("level %d, side %d: %s The tone leaves at %.2f dBFS, want %.2f", level, side, e.Task, got, want)
			}
		}
	}
}

// Sources that are matched as shown are equally loud, measured by ffmpeg's
// loudness meter (EBU R 128).
func TestMatchedLoudness(t *testing.T) {
	e := exercise(t, MatchEar, 2, ladder.Top)
	if len(e.Channels) != 4 {
		t.Fatalf("%d sources, want 4", len(e.Channels))
	}
	var first float64
	for i, s := range e.Channels {
		c := e.Desk(0)
		c.Channels = c.Channels[i : i+1]
		if !s.Fixed {
			c.Channels[0].FaderDB = s.AimDB
		}
		loud := figure(t, `I: +(\S+) LUFS`, "ffmpeg", "-nostats", "-i", wave(t, c, nil, int64(s.Sound.Len())), "-af", "ebur128", "-f", "null", "-")
		t.Logf("%s (%s): %.1f LUFS", s.Label, s.Sound.Kind, loud)
		if i == 0 {
			first = loud
		}
		if math.Abs(loud-first) > 0.3 {
			t.Errorf("%s is %.1f LUFS loud, A %.1f", s.Label, loud, first)
		}
	}
}

// The sum of the whole desk has the peak that the verdict says, measured by
// sox.
func TestWholeDeskSum(t *testing.T) {
	for _, level := range []int{1, 10, ladder.Top} {
		e := exercise(t, WholeDesk, 4, level)
		c := e.Desk(0)
		for i := range c.Channels {
			c.Channels[i].FaderDB = e.Channels[i].AimDB
		}
		peak := figure(t, `Pk lev dB +(\S+)`, "sox", wave(t, c, nil, wholeSum*audio.Rate), "-n", "stats")
		v := judged(t, e, e.ShowMe())
		if want := e.Rig.CeilingDBFS - v.HeadroomDB; math.Abs(peak-want) > 0.02 {
			t.Errorf("level %d: the sum peaks at %.2f dBFS, want %.2f", level, peak, want)
		}
		if v.HeadroomDB < e.Rig.ToleranceDB-0.001 {
			t.Errorf("level %d: the sum keeps %.2f dB below the ceiling with all at their aims, the tolerance is %v dB", level, v.HeadroomDB, e.Rig.ToleranceDB)
		}
		for i := range c.Channels {
			c.Channels[i].FaderDB = e.Channels[i].WindowDB[1]
		}
		peak = figure(t, `Pk lev dB +(\S+)`, "sox", wave(t, c, nil, wholeSum*audio.Rate), "-n", "stats")
		if peak > e.Rig.CeilingDBFS+0.01 {
			t.Errorf("level %d: with every channel at its window's top the sum peaks at %.2f dBFS, the ceiling is %v", level, peak, e.Rig.CeilingDBFS)
		}
		// All of them hot by a window and a half: not one is right, and the sum
		// lights its lamp.
		take := e.ShowMe()
		for i := range take.Moves {
			take.Moves[i].To = min(take.Moves[i].To+1.5*e.Rig.ToleranceDB, desk.FaderMax)
		}
		if v := judged(t, e, take); v.InWindow || v.Code != codeDeskHot {
			t.Errorf("level %d: all hot, yet %+v", level, v)
		}
	}
}

func judged(t *testing.T, e *Exercise, take Take) Verdict {
	t.Helper()
	v, err := e.Judge(take)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// The needle of the desk itself, on a source that stands still, stays near its
// target while the level is ridden as shown, and does not while it is left.
func TestRideByTheNeedle(t *testing.T) {
	for _, level := range []int{1, 12, ladder.Top} {
		e, err := NewExercise(Ride, 6, 0, level, Settings{Family: "steady"})
		if err != nil {
			t.Fatal(err)
		}
		x := e.rule.(rideRule)
		// How far the needle throws above what it reads, in the part where it does most.
		above, take := 0.0, e.Channels[0].Sound
		for i, from := range take.Parts {
			to := take.Len()
			if i+1 < len(take.Parts) {
				to = take.Parts[i+1]
			}
			part := meter.ReadLoop(take.Channels[0][from+audio.Rate/2:to], audio.Rate)
			above = max(above, part.Max-part.Reading)
		}
		near := func(take Take) float64 {
			in, all := 0, 0
			_, err := desk.Watch(e.Desk(0), take.Moves, rideSeconds*audio.Rate, func(s desk.Snapshot) {
				if s.At < rideLead*audio.Rate || x.jumpedBefore(s.At) {
					return
				}
				all++
				// The needle may be below the reading, which calls the greatest
				// deflections, but never far above it.
				if s.NeedleDBFS[0]-e.Rig.ReferenceDBFS < x.aim+above+e.Rig.ToleranceDB+0.7 {
					in++
				}
			})
			if err != nil {
				t.Fatal(err)
			}
			return float64(in) / float64(all)
		}
		left := Take{LockAt: rideSeconds * audio.Rate}
		if share := near(e.ShowMe()); share < 0.97 {
			t.Errorf("level %d: ridden as shown, the needle is at most at its target for %.0f %% of the time", level, 100*share)
		}
		if v := judged(t, e, left); v.Share > 0.6 || v.InWindow {
			t.Errorf("level %d: left alone, %.0f %% of the time in the window", level, 100*v.Share)
		}
	}
}

// Standard needles and faulty ones, by the standard's test: a tone of 0 VU that
// is switched on (IEC 60268-17: 99 % after 300 ms within 10 %, 1 to 1.5 %
// beyond).
func TestFaultyNeedles(t *testing.T) {
	tone, _, err := new(draft).switched()
	if err != nil {
		t.Fatal(err)
	}
	x := tone.Channels[0]
	step := func(trace []float32) (rise float64, beyond float64, fall float64) {
		settled := audio.Gain(-6)
		top := 0.0
		for i, p := range trace[:100] {
			if rise == 0 && float64(p) >= 0.99*settled {
				rise = float64(i) / 100
			}
			top = max(top, float64(p))
		}
		for i, p := range trace[100:200] {
			if float64(p) <= 0.1*settled {
				fall = float64(i) / 100
				break
			}
		}
		return rise, top/settled - 1, fall
	}
	for _, trace := range [][]float32{standardTrace(x, 1), faulty("", 0).trace(x, 1)} {
		rise, beyond, fall := step(trace)
		if rise < 0.27 || rise > 0.33 || beyond < 0.01 || beyond > 0.015 || fall > 0.3 {
			t.Errorf("standard: 99 %% after %.2f s, %.2f %% beyond, down to a tenth after %.2f s", rise, 100*beyond, fall)
		}
	}
	for _, slight := range []float64{0, 0.5, 1} {
		if rise, _, _ := step(faulty(FaultSlow, slight).trace(x, 1)); rise != 0 && rise < 0.43 {
			t.Errorf("slow %v: 99 %% after %.2f s", slight, rise)
		}
		if _, beyond, _ := step(faulty(FaultOver, slight).trace(x, 1)); beyond < 0.1 {
			t.Errorf("over %v: %.1f %% beyond", slight, 100*beyond)
		}
		if _, _, fall := step(faulty(FaultHangs, slight).trace(x, 1)); fall != 0 {
			t.Errorf("hangs %v: down to a tenth after %.2f s", slight, fall)
		}
	}
	// On a sine that lasts all read alike, but on a sound with peaks one of them
	// reads higher.
	drums := exercise(t, LampCount, 1, 1).Channels[0].Sound.Channels[0]
	for _, f := range []Fault{FaultSlow, FaultOver, FaultPeaks, FaultHangs} {
		if got := faulty(f, 0).trace(x[:audio.Rate-audio.Rate/100], 1); math.Abs(audio.DB(float64(got[len(got)-1]))+6) > 0.1 {
			t.Errorf("%s settles at %.2f dBFS on a sine of -6 dBFS", f, audio.DB(float64(got[len(got)-1])))
		}
	}
	top := func(trace []float32) (m float64) {
		for _, p := range trace {
			m = max(m, float64(p))
		}
		return audio.DB(m)
	}
	for _, slight := range []float64{0, 1} {
		if over := top(faulty(FaultPeaks, slight).trace(drums, 1)) - top(standardTrace(drums, 1)); over < 2.5 {
			t.Errorf("peaks %v: reads drums only %.1f dB above the standard", slight, over)
		}
	}
}

// At every level a faulty needle can be told from the standard's: for at least
// a twentieth of the time they differ by more than 4 % of the scale, about
// the distance of two marks of it.
func TestFaultsCanBeSeen(t *testing.T) {
	for level := 1; level <= ladder.Top; level++ {
		e := exercise(t, TrustIt, uint64(level), level)
		x := e.rule.(trustRule)
		// 0 VU stands at 71 % of the scale.
		full := audio.Gain(e.Rig.ReferenceDBFS) / 0.71
		right := 0
		for i, f := range x.faults {
			if f == "" {
				right = i
			}
		}
		for i, f := range x.faults {
			if f == "" {
				continue
			}
			apart := 0
			for k := range x.traces[i] {
				a, b := min(float64(x.traces[i][k])/full, 1), min(float64(x.traces[right][k])/full, 1)
				if math.Abs(a-b) > 0.04 {
					apart++
				}
			}
			if share := float64(apart) / float64(len(x.traces[i])); share < 0.05 {
				t.Errorf("level %d, %s, %s: apart for %.1f %% of the time", level, e.Channels[0].Sound.Kind, f, 100*share)
			}
		}
	}
}

// A needle asked for at any time shows its trace, round and round.
func TestNeedleAt(t *testing.T) {
	e := exercise(t, TrustIt, 1, 9)
	turn := int64(e.Channels[0].Sound.Len())
	if !math.IsInf(e.NeedleAt(0, 0), -1) || !math.IsInf(e.NeedleAt(99, 5), -1) || !math.IsInf(e.NeedleAt(0, -1), -1) {
		t.Error("a needle moves where there is none")
	}
	for i := range e.View.Needles {
		a, b := e.NeedleAt(i, turn+turn/2), e.NeedleAt(i, 5*turn+turn/2)
		if a != b || math.IsInf(a, 0) {
			t.Errorf("needle %d: %v in the second turn, %v in the sixth", i, a, b)
		}
	}
}
