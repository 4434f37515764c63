package drills

import "slowneedle/audio/said"

// The reasons of its verdicts.
var (
	codeCallIn   = reason("call_in", "You called {called} dB; the peaks run {under} dB above the needle.").headed("In the window: {error} dB off.")
	codeCallLow  = reason("call_low", "You called {called} dB, but the peaks run {under} dB above the needle: relying on that, you would set it too hot.").headed("Called {error} dB too low.")
	codeCallHigh = reason("call_high", "You called {called} dB, but the peaks run only {under} dB above the needle: relying on that, you would set it too low.").headed("Called {error} dB too high.")
)

// callRule judges a called under-read. What is right stands in the channel.
type callRule struct{}

// leastCall is the narrowest tolerance of a called figure, dB.
const leastCall = 1

// makeCall draws the sound's seed, the rig, and the reading at which the source
// stands, -10 to 0 VU and so that its peaks stay below the ceiling.
//
// A call is judged as the take would be that trusts it: called too low is too
// hot. The tolerance is the level's, at least 1 dB.
func makeCall(f *draft) error {
	sound, v, err := f.sound()
	if err != nil {
		return err
	}
	e := f.ex
	f.params.ToleranceDB = max(f.params.ToleranceDB, leastCall)
	e.Rig = f.rig()
	under := v.underOfPeak
	reading := min(f.between(-10, 0), e.Rig.HeadroomDB()+e.Rig.TargetVU-under)
	e.Channels = []Channel{{Label: "A", Sound: sound, Fixed: true, StartGainDB: reading + e.Rig.ReferenceDBFS - v.reading, ReadingVU: reading, UnderReadDB: under}}
	e.View.LampCovered, e.View.TargetCovered = true, true
	e.Task = said.New("task.call", "The fader is fixed. How far above the needle do this source's peaks run?")
	e.Ask = Ask{Text: "How many dB do the peaks go above the needle?", Number: true, Unit: "dB", Min: 0, Max: 40, Step: 0.5}
	called := max(step(under), 0)
	e.Ask.right.Number = &called
	e.Solution = said.New("solution.call", "The needle reads %s VU and the peaks reach %s dBFS: with 0 VU at %s dBFS that is %.1f dB above the needle.",
		signed(reading, 1), signed(reading+e.Rig.ReferenceDBFS+under, 1), brief(e.Rig.ReferenceDBFS), step(under))
	e.rule = callRule{}
	return nil
}

func (callRule) verdict(e *Exercise, t Take) (Verdict, error) {
	s, called := e.Channels[0], *t.Number
	err := s.UnderReadDB - called
	out := outside(err, [2]float64{-e.Rig.ToleranceDB, e.Rig.ToleranceDB})
	v := Verdict{
		ErrorDB: step(err), InWindow: out == 0, Points: Points(out, false),
		CalledDB: called, UnderReadDB: s.UnderReadDB, ReadingVU: s.ReadingVU, AimVU: s.ReadingVU, DecidedBy: ByPeaks,
		HeadroomDB: e.Rig.CeilingDBFS - e.Rig.ReferenceDBFS - s.ReadingVU - s.UnderReadDB,
	}
	v.Code = sided(codeCallIn, codeCallLow, codeCallHigh, v)
	return v, nil
}

func (callRule) figures(_ *Exercise, v Verdict) []Figure {
	return []Figure{
		{Name: said.New("figure.call_error", "called − actual"), Value: v.CalledDB - v.UnderReadDB, Unit: UnitDB, Signed: true, Decimals: 1, Tone: toned(v.InWindow)},
		{Name: said.New("figure.called", "called"), Value: v.CalledDB, Unit: UnitDB, Decimals: 1},
		underFigure(v), needleFigure(v),
	}
}
