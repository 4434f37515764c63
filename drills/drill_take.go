package drills

import (
	"math"

	"slowneedle/audio/desk"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// takeRule is the rule of the drills that are a round: Set the take, and Lamp
// count.
type takeRule struct{ round *Round }

// Round returns the round that an exercise of Set the take or Lamp count is;
// ok is false in other drills.
func (e *Exercise) Round() (r *Round, ok bool) {
	rule, ok := e.rule.(takeRule)
	return rule.round, ok
}

// makeTake draws as NewRound does, from the same numbers: the sound's seed,
// then decider, tape, rig and aim.
func makeTake(f *draft) (*Exercise, error) {
	sound, _, err := f.sound(f.settings.Family)
	if err != nil {
		return nil, err
	}
	r, err := newRound(sound, f.seed, f.index, f.settings, f.rng, level.aim)
	if err != nil {
		return nil, err
	}
	e := f.ex
	e.Task = said.New("task.take", "Bring the fader up until it is right. The needle sets the average; the peaks must stay below the ceiling.")
	if r.Rig.Soft() {
		e.Task = said.New("task.take_tape", "Bring the fader up until it is right: the needle at its target, or the lamp flashing now and then, whichever comes first.")
	}
	return e.ofRound(r), nil
}

// makeLamp draws the sound's seed, again as long as the lamp has no room to be
// sparing in on that sound (eight times at most), then the reference, -20 to
// -14 dBFS unless a rig is asked for, then the aim. It is played on tape; of a
// digital rig only the reference is taken.
func makeLamp(f *draft) (*Exercise, error) {
	var sound *source.Sound
	for range 8 {
		s, v, err := f.sound(f.settings.Family)
		if err != nil {
			return nil, err
		}
		sound = s
		if sparing, _ := v.lamp.lampRange(); sparing >= lampRoom {
			break
		}
	}
	rig := tapeRig(-20 + float64(f.rng.IntN(7)))
	if asked := f.settings.Rig; asked != nil && asked.Soft() {
		rig = *asked
	} else if asked != nil {
		rig = tapeRig(asked.ReferenceDBFS)
	}
	f.settings.Rig = &rig
	r, err := newRound(sound, f.seed, f.index, f.settings, f.rng, level.aimByLamp)
	if err != nil {
		return nil, err
	}
	e := f.ex
	e.Task = said.New("task.lamp", "Set it by the lamp: two or three short flashes in about three seconds.")
	e.View = View{NeedleCovered: true}
	return e.ofRound(r), nil
}

// decided begins the sentence that says what was right.
var decided = map[Decider]said.Sentence{
	ByNeedle: said.New("decided.needle", "The needle decided"),
	ByPeaks:  said.New("decided.peaks", "The peaks decided"),
	ByLamp:   said.New("decided.lamp", "The lamp decided"),
}

// ofRound completes an exercise that is a round.
func (e *Exercise) ofRound(r *Round) *Exercise {
	e.Rig = r.Rig
	e.Strips = []Strip{{Label: "A", Sound: r.Sound, StartGainDB: r.StartGainDB, FaderDB: desk.FaderMin,
		AimDB: r.AimDB, WindowDB: r.WindowDB}}
	e.Solution = said.New("solution.take", "%s: the needle under-reads this source by %.1f dB, so it belongs near %s VU.",
		decided[r.DecidedBy], r.UnderReadDB, signed(math.Round(r.ReadingVU+r.AimDB), 0))
	e.rule = takeRule{r}
	return e
}

func (x takeRule) verdict(_ *Exercise, t Take) (Verdict, error) { return Judge(x.round, t) }

func (x takeRule) show(e *Exercise) Take { return e.inTime(x.round.ShowMe()) }
