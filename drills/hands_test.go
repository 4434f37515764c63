package drills

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// The hands of this file know what a learner can see: samples of the loop, the
// rig on the card, the fader. They do not call the code that judges them.

// peakSeen is the highest sample of a round with the fader at 0 dB, in dBFS.
func peakSeen(e *Exercise) float64 {
	top := 0.0
	for _, ch := range e.Channels[0].Sound.Channels {
		for _, x := range ch {
			top = math.Max(top, math.Abs(float64(x)))
		}
	}
	return 20*math.Log10(top) + e.Channels[0].StartGainDB
}

// A hand that knows where the named aim is, with a spread of 0.6 dB, and one that
// goes for the middle of what is right, found by trying settings in steps of 0.1
// dB, settle on steps of the ladder that are one apart at most: the aim is the
// middle. A hand that was right is never told that it leans to one side: the
// errors of right takes have a mean of 0 within 0.2 dB.
func TestAimIsTheMiddle(t *testing.T) {
	const rounds = 60
	settle := func(seed uint64, goal func(e *Exercise) float64) (level, lean float64) {
		rng := rand.New(rand.NewPCG(seed, 6))
		var s ladder.State
		var sum, errs float64
		n, right := 0, 0
		for i := range rounds {
			e, err := NewExercise(SetTake, 78, i, s.Now(), Settings{Family: "struck"})
			if err != nil {
				t.Fatal(err)
			}
			to := math.Round(10*(goal(e)+0.6*rng.NormFloat64())) / 10
			v, err := e.Judge(Take{Moves: []Move{{To: min(max(to, -36), 12)}}, LockAt: 1})
			if err != nil {
				t.Fatal(err)
			}
			if v.InWindow {
				errs += v.ErrorDB
				right++
			}
			s = s.Next(v.InWindow)
			if i >= rounds/2 {
				sum += float64(s.Now())
				n++
			}
		}
		return sum / float64(n), errs / float64(right)
	}
	named, leanNamed := settle(1, func(e *Exercise) float64 { return e.Channels[0].AimDB })
	middle, leanMiddle := settle(1, func(e *Exercise) float64 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for off := -4.0; off <= 4; off += 0.1 { // the widest window is 3 dB to either side
			db := max(-36, min(12, e.Channels[0].AimDB+off))
			v, err := e.Judge(Take{Moves: []Move{{To: db}}, LockAt: 1})
			if err != nil {
				t.Fatal(err)
			}
			if v.InWindow {
				lo, hi = min(lo, db), max(hi, db)
			}
		}
		return (lo + hi) / 2
	})
	t.Logf("the hand at the named aim settles at %.1f and leans %+.2f dB, the one at the middle at %.1f and leans %+.2f dB", named, leanNamed, middle, leanMiddle)
	if math.Abs(named-middle) > 1 || math.Abs(leanNamed) > 0.2 || math.Abs(leanMiddle) > 0.2 {
		t.Error("the aim is not the middle of what is right")
	}
}

// Guessing does not pay: the best fixed fader scores about 30 % at step 1, and
// at the top no more than its window is of the travel.
func TestFixedFader(t *testing.T) {
	const rounds = 600
	best := func(level int) (share, at float64) {
		var aims, tolerances []float64
		for i := range rounds {
			f := &draft{params: ladder.At(level), rng: rand.New(rand.NewPCG(5, uint64(i)))}
			aims, tolerances = append(aims, f.channel("A").AimDB), append(tolerances, f.params.ToleranceDB)
		}
		for db := -24.0; db <= 10; db += 0.5 {
			in := 0
			for i := range aims {
				if math.Abs(aims[i]-db) <= tolerances[i] {
					in++
				}
			}
			if s := float64(in) / rounds; s > share {
				share, at = s, db
			}
		}
		return share, at
	}
	first, at := best(1)
	top, _ := best(ladder.Top)
	t.Logf("a fader left at %v dB is right in %.0f %% of rounds at step 1, %.0f %% at the top", at, 100*first, 100*top)
	if first < 0.27 || first > 0.36 {
		t.Errorf("%.0f %% at step 1, want about 30", 100*first)
	}
	if top > 0.1 {
		t.Errorf("%.0f %% at the top step", 100*top)
	}
}

// A hand without delay, which keeps the reading where it is asked for as the curve
// moves, is never over the ceiling: in 60 rounds no sample that is judged goes
// over it, by the desk's own peak meter. It is right in at least 95 %. What it does
// is worked out from the curve on the channel and from the sound's parts. One that follows
// the curve alone is right far less often.
func TestRideWithoutDelay(t *testing.T) {
	over, right, deaf, all := 0, 0, 0, 0
	for _, level := range []int{14, 18, ladder.Top} {
		for i := range 20 {
			e, err := NewExercise(Ride, 31, i, level, Settings{})
			if err != nil {
				t.Fatal(err)
			}
			take := ridden(e, 0)
			v := judged(t, e, take)
			all++
			if v.InWindow {
				right++
			}
			if judged(t, e, riddenBy(e, 0, func(int64) float64 { return 0 })).InWindow {
				deaf++
			}
			if e.Rig.Soft() || v.Code == codeRideOver || v.HeadroomDB < 0 {
				over++
				t.Errorf("step %d, round %d, %s: over the ceiling by %.1f dB", level, i, e.Channels[0].Sound.Kind, -v.HeadroomDB)
			}
			if i%7 != 0 {
				continue
			}
			// The desk plays it: no snapshot after the lead shows a peak over the
			// ceiling, but for the time to react after a jump.
			top := math.Inf(-1)
			if _, err := desk.Watch(e.Desk(0), take.Moves, take.LockAt, func(s desk.Snapshot) {
				if s.At > rideLead*audio.Rate && !jumped(e, s.At) {
					top = max(top, s.PeakDBFS[0])
				}
			}); err != nil {
				t.Fatal(err)
			}
			if top > e.Rig.CeilingDBFS+0.2 || math.Abs(e.Rig.CeilingDBFS-top-v.HeadroomDB) > 0.3 {
				t.Errorf("step %d, round %d: the desk peaks at %.2f dBFS, the ceiling is %v, the verdict's headroom %.2f", level, i, top, e.Rig.CeilingDBFS, v.HeadroomDB)
			}
		}
	}
	t.Logf("of %d rounds %d were over the ceiling, %d right; %d by a hand that does not follow the parts", all, over, right, deaf)
	if float64(deaf) > 0.6*float64(all) {
		t.Errorf("a hand that does not follow the parts of a take is right in %d of %d rounds", deaf, all)
	}
	if float64(right) < 0.95*float64(all) {
		t.Errorf("a hand without delay is right in %d of %d rounds", right, all)
	}
}

// gainOf is the gain of a curve in dB at a position, read off its corners.
func gainOf(curve []desk.GainPoint, at int64) float64 {
	for i := len(curve) - 1; i >= 0; i-- {
		a := curve[i]
		if at < a.At {
			continue
		}
		if i+1 == len(curve) {
			return a.DB
		}
		b := curve[i+1]
		return a.DB + (b.DB-a.DB)*float64(at-a.At)/float64(b.At-a.At)
	}
	return curve[0].DB
}

// jumped reports whether the level jumped in the last 1.5 s before a position, or a part
// began in the last two.
func jumped(e *Exercise, at int64) bool {
	for _, from := range e.Channels[0].Sound.Parts[1:] {
		if at := at - int64(from); at >= -480 && at < 2*audio.Rate+480 {
			return true
		}
	}
	curve := e.Channels[0].Curve
	for i := 1; i < len(curve); i++ {
		if jump := curve[i].At-curve[i-1].At < audio.Rate/10; jump && at >= curve[i-1].At-480 && at < curve[i].At+audio.Rate*3/2+480 {
			return true
		}
	}
	return false
}

// partOf returns how far the part of a take that is played at a position reads above the
// first, in dB, by a meter that hears each part once.
func partOf(s *source.Sound) func(at int64) float64 {
	var readings []float64
	for i, from := range s.Parts {
		to := s.Len()
		if i+1 < len(s.Parts) {
			to = s.Parts[i+1]
		}
		top := math.Inf(-1)
		for _, x := range s.Channels {
			r := meter.NewReader(audio.Rate)
			r.Process(x[from:to])
			top = max(top, r.Passage().Reading)
		}
		readings = append(readings, top)
	}
	return func(at int64) float64 {
		i := 0
		for i+1 < len(s.Parts) && at >= int64(s.Parts[i+1]) {
			i++
		}
		return readings[i] - readings[0]
	}
}

// ridden follows the curve of a channel, and the parts of its take, every hundredth of a
// second, late by so many seconds.
func ridden(e *Exercise, late float64) Take {
	return riddenBy(e, late, partOf(e.Channels[0].Sound))
}

func riddenBy(e *Exercise, late float64, part func(at int64) float64) Take {
	s := e.Channels[0]
	at0 := s.FaderDB + gainOf(s.Curve, 0)
	take := Take{LockAt: int64(e.Seconds) * audio.Rate}
	last := s.FaderDB
	for at := int64(0); at < take.LockAt; at += audio.Rate / 100 {
		heard := max(at-int64(late*audio.Rate), 0)
		to := math.Round(10*(at0-gainOf(s.Curve, heard)-part(heard))) / 10
		if to != last {
			take.Moves = append(take.Moves, Move{At: at, To: to})
			last = to
		}
	}
	return take
}

// A fader that is half a tenth too high all the time is as right as one that is
// not; one two tenths beyond the tolerance is never in the window.
func TestRideTolerance(t *testing.T) {
	e, err := NewExercise(Ride, 31, 0, 18, Settings{Family: "steady"})
	if err != nil {
		t.Fatal(err)
	}
	x := e.rule.(rideRule)
	for _, row := range []struct{ miss, share float64 }{{0, 1}, {e.Rig.ToleranceDB + 0.04, 1}, {-e.Rig.ToleranceDB - 0.04, 1}, {e.Rig.ToleranceDB + 0.06, 0}, {-e.Rig.ToleranceDB - 0.2, 0}} {
		flat := x
		flat.form = nil
		flat.curve = []desk.GainPoint{{At: 0, DB: x.aim - x.at0 - e.Channels[0].FaderDB + row.miss}}
		e.rule = flat
		v := judged(t, e, Take{LockAt: rideSeconds * audio.Rate})
		if math.Abs(v.Share-row.share) > 0.001 {
			t.Errorf("%.2f dB off throughout, within %v dB: %.2f of the time in the window, want %v", row.miss, e.Rig.ToleranceDB, v.Share, row.share)
		}
	}
}

// A recording may sound only where nothing is judged, such as one stroke right behind a
// jump: the verdict still has figures that can be stored.
func TestRideWithoutSound(t *testing.T) {
	e := exercise(t, Ride, 31, 3)
	silent := e.rule.(rideRule)
	silent.peaks = slices.Repeat([]float64{math.Inf(-1)}, len(silent.peaks))
	e.rule = silent
	for _, take := range []Take{e.ShowMe(), {LockAt: 1}} {
		v := judged(t, e, take)
		if _, err := json.Marshal(v); err != nil || v.InWindow || v.Points != 0 {
			t.Errorf("%+v: %v", v, err)
		}
	}
}

// Silence has no level: a source with rests is judged on what sounds, whatever the
// fader does meanwhile.
func TestRideSilence(t *testing.T) {
	e, err := NewExercise(Ride, 32, 2, 18, Settings{Family: "voice"})
	if err != nil {
		t.Fatal(err)
	}
	x := e.rule.(rideRule)
	right := ridden(e, 0)
	before := judged(t, e, right)
	// A second of silence, in which the fader goes to the top.
	silent := x
	silent.peaks = append([]float64(nil), x.peaks...)
	for i := 800; i < 900 && i < len(silent.peaks); i++ {
		silent.peaks[i] = math.Inf(-1)
	}
	e.rule = silent
	wild := Take{LockAt: right.LockAt}
	for _, m := range right.Moves {
		if m.At >= 8*audio.Rate && m.At < 9*audio.Rate {
			continue
		}
		wild.Moves = append(wild.Moves, m)
	}
	at := 0
	for at < len(wild.Moves) && wild.Moves[at].At < 8*audio.Rate {
		at++
	}
	back := e.Channels[0].FaderDB
	for _, m := range right.Moves {
		if m.At < 9*audio.Rate {
			back = m.To
		}
	}
	wild.Moves = append(wild.Moves[:at:at], append([]Move{{At: 8 * audio.Rate, To: 12}, {At: 9*audio.Rate - 1, To: back}}, wild.Moves[at:]...)...)
	v := judged(t, e, wild)
	if v.HeadroomDB < before.HeadroomDB-1e-9 || v.Share < before.Share-0.02 {
		t.Errorf("in silence the fader went to the top: %+v; without that %+v", v, before)
	}
	e.rule = x
	if v := judged(t, e, wild); v.Code != codeRideOver {
		t.Errorf("while it sounds, the fader at the top is not over: %+v", v)
	}
}

// The words of a tape take follow its damage and its noise, and never get better
// as the fader goes on; the figures are those of a render through the tape.
func TestTapeByItsDamage(t *testing.T) {
	tape := TapeRig()
	harm := map[Damage]int{DamageNone: 0, DamageGrit: 1, DamageDistorted: 2, DamageSpoiled: 3}
	hiss := map[Noise]int{NoiseLow: 0, NoiseHiss: 1, NoiseNoisy: 2, NoiseBuried: 3}
	seen := make(map[Damage]bool)
	for i, family := range []string{"voice", "plucked", "struck", "ensemble"} {
		e, err := NewExercise(SetTake, 3, i, 1, Settings{Rig: &tape, Family: Drills()[1].Families[i+1]})
		if err != nil {
			t.Fatal(err)
		}
		worst, best, grit := 0, 3, 0.0
		for db := -36.0; db <= 12; db += 0.5 {
			v := judged(t, e, Take{Moves: []Move{{To: db}}, LockAt: 1})
			if harm[v.Damage] < worst || hiss[v.Noise] > best || v.DistortionPercent < grit*0.98 {
				t.Errorf("%s at %v dB: %s (%.1f %%), %s (%.0f dB) after %d, %d", family, db, v.Damage, v.DistortionPercent, v.Noise, v.SNRDB, worst, best)
			}
			worst, best, grit = harm[v.Damage], hiss[v.Noise], v.DistortionPercent
			seen[v.Damage] = true
			for word, from := range map[string][2]float64{"clean": {0, 3}, "slightly distorted": {3, 6}, "clearly distorted": {6, 12}, "spoiled": {12, 1000}} {
				if strings.Contains(v.Reason, "take is "+word) && (v.DistortionPercent < from[0]-0.01 || v.DistortionPercent > from[1]+0.01) {
					t.Errorf("%s: %q at %.1f %%", family, v.Reason, v.DistortionPercent)
				}
			}
		}
	}
	if len(seen) != 4 {
		t.Errorf("only %v were seen", seen)
	}
}

// Half a decibel over the aim on tape is no other take than the aim's.
func TestTapeHalfADecibel(t *testing.T) {
	tape := TapeRig()
	for i := range 20 {
		e, err := NewExercise(SetTake, 8, i, 1, Settings{Rig: &tape, Family: Drills()[1].Families[1+i%4]})
		if err != nil {
			t.Fatal(err)
		}
		if e.DecidedBy != ByLamp {
			continue
		}
		aim := e.Channels[0].AimDB
		a, b := judged(t, e, Take{Moves: []Move{{To: aim}}, LockAt: 1}), judged(t, e, Take{Moves: []Move{{To: aim + 0.5}}, LockAt: 1})
		if a.DistortionPercent > 6 || b.DistortionPercent > 1.4*a.DistortionPercent+0.2 || strings.Contains(b.Reason, "spoiled") {
			t.Errorf("%s: %.1f %% at the aim, %.1f %% half a decibel over it: %s", e.Channels[0].Sound.Kind, a.DistortionPercent, b.DistortionPercent, b.Reason)
		}
	}
}

// With every channel at its window's top the sum stays below the ceiling, in all
// of twenty rounds.
func TestWholeDeskAtTheTop(t *testing.T) {
	for i := range 20 {
		e, err := NewExercise(WholeDesk, 12, i, 1+i, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		var take Take
		for c, s := range e.Channels {
			take.Moves = append(take.Moves, Move{Control: c, To: math.Floor(10*s.WindowDB[1]+1e-6) / 10})
		}
		if v := judged(t, e, take); !v.InWindow || v.HeadroomDB < -0.05 {
			t.Errorf("step %d: %s %s", e.Level, v.Headline, v.Reason)
		}
	}
}

// What the verdict says is taken from the take and its moves.
func TestReasons(t *testing.T) {
	digital := DigitalRig()
	var e *Exercise
	for i := 0; ; i++ { // one that clips only well above 0 VU, and is decided by its peaks
		var err error
		if e, err = NewExercise(SetTake, 5, i, 18, Settings{Rig: &digital, Family: "struck"}); err != nil {
			t.Fatal(err)
		}
		if under := e.Channels[0].UnderReadDB; under > 14 && under < 17 {
			break
		}
	}
	e.Seconds = 0 // three turns of the loop can be longer than this step allows
	s := e.Channels[0]
	needle := math.Round(10*-s.ReadingVU) / 10 // where the needle reads 0 VU
	lit := digital.LampDBFS - peakSeen(e)      // where the lamp lights
	turn := int64(s.Sound.Len())
	if e.Seconds > 0 { // three moves have to fit
		turn = min(turn, int64(e.Seconds*audio.Rate/4))
	}
	fader := func(moves ...float64) Take { // each held for a turn of the loop, or as long as time allows
		var take Take
		for i, to := range moves {
			take.Moves = append(take.Moves, Move{At: int64(i) * turn, To: to})
		}
		take.LockAt = int64(len(moves)) * turn
		return take
	}
	for _, row := range []struct {
		name string
		take Take
		code Code
		says string
	}{
		{"by the needle", fader(needle-3, needle), codeByNeedle, "needle alone, and that cost"},
		{"on past the lamp", fader(math.Ceil(10*lit)/10, s.AimDB+2.5), codePastLamp, "you went on"},
		{"straight to too hot", fader(s.AimDB + 2.5), codePeaksClose, "come within 0.5 dB of the ceiling"},
		{"cold", fader(s.AimDB - 6), codePeaksCold, "has to make up 6.0 dB"},
		{"cold and by ear", fader(s.AimDB - 6), codePeaksCold, "sounds perfect at matched loudness"},
		{"right, the lamp lit", fader(s.AimDB), codePeaksLit, "only as a warning: 3.0 dB of headroom left"},
		{"right, the lamp dark", fader(s.AimDB - 0.5), codePeaksIn, "they leave 3.5 dB of headroom"},
		{"over the lamp and back, then up", fader(s.AimDB+9, s.AimDB+0.5, s.AimDB+2.5), codePeaksClose, "within 0.5 dB"},
		{"never moved", Take{LockAt: turn}, codeStill, "it stayed at −36.0 dB"},
		{"clipped past the lamp", fader(s.AimDB, s.AimDB+9), codeClippedPastLamp, "went on 9.0 dB until the take clipped"},
		{"clipped at once", fader(s.AimDB + 9), CodeClipped, "went over full scale"},
	} {
		if v := judged(t, e, row.take); v.Code != row.code || !strings.Contains(v.Reason, row.says) {
			t.Errorf("%s: %s: %s; want %s with %q", row.name, v.Code, v.Reason, row.code, row.says)
		}
	}
	whole := exercise(t, WholeDesk, 4, 1)
	take := whole.ShowMe()
	take.Moves = take.Moves[:0:0]
	for _, m := range whole.ShowMe().Moves {
		if m.Control%2 == 0 {
			take.Moves = append(take.Moves, m)
		}
	}
	if v := judged(t, whole, take); v.Code != codeUntouched || v.Reason != "You never touched the trio fader and the sine fader." {
		t.Errorf("two channels left alone: %s: %s", v.Code, v.Reason)
	}
	trust := exercise(t, TrustIt, 3, 9)
	for c := range trust.Ask.Choices {
		v := judged(t, trust, Take{Choice: &c})
		if n := strings.Count(v.Reason, "eedle "); v.InWindow && n != 3 || !v.InWindow && n != 2 {
			t.Errorf("of three needles: %s", v.Reason)
		}
	}
	// A fader that is through the lamp's setting before a peak sounds has not seen
	// it light there.
	quick := fader(s.AimDB, s.AimDB+2.5)
	quick.Moves[1].At = quick.Moves[0].At + 1
	if v := judged(t, e, quick); v.Code != codePeaksClose || v.PastLampDB != 0 {
		t.Errorf("through the lamp's setting in no time: %s: %s", v.Code, v.Reason)
	}
	lamp := exercise(t, LampCount, 3, 9)
	if v := judged(t, lamp, at(-30)); !strings.HasPrefix(v.Reason, "Flashes in the busiest three seconds: 0, where one to three are right; ") {
		t.Errorf("lamp count answers %q", v.Reason)
	}
}
