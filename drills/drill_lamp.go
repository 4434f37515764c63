package drills

import (
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// makeTake draws the sound's seed, then as draft.record does.
func makeTake(f *draft) (*Exercise, error) {
	sound, v, err := f.sound()
	if err != nil {
		return nil, err
	}
	e := f.record(sound, v, level.aim)
	e.Task = said.New("task.take", "Bring the fader up until it is right. The needle sets the average, as long as the peaks stay %s dB below the ceiling.",
		number(max(leastMargin, e.Rig.ToleranceDB)))
	if e.Rig.Soft() {
		e.Task = said.New("task.take_tape", "Bring the fader up until it is right: the needle at its target, or the lamp flashing now and then, whichever comes first.")
	}
	return e, nil
}

// makeLamp draws the sound's seed, again as long as the lamp has no room to be
// sparing in on that sound (eight times at most), then as
// draft.record does. It is played on tape; of a digital rig that is asked for only
// the reference is taken.
func makeLamp(f *draft) (*Exercise, error) {
	var sound *source.Sound
	var v level
	for range 8 {
		var err error
		if sound, v, err = f.sound(); err != nil {
			return nil, err
		}
		if v.lamp.span >= lampRoom {
			break
		}
	}
	rig := TapeRig()
	if asked := f.settings.Rig; asked != nil && asked.Soft() {
		rig = *asked
	} else if asked != nil {
		rig = tapeRig(asked.ReferenceDBFS)
	}
	f.settings.Rig = &rig
	e := f.record(sound, v, level.aimByLamp)
	lamp := e.rule.(recorded).lampAt(e, e.Channels[0].AimDB)
	e.Solution = said.New("solution.lamp", "With the fader at %s dB, flashes in the busiest three seconds: %d; the covered needle reads near %s VU there.",
		signed(e.Channels[0].AimDB, 1), lamp.flicks, signed(e.Channels[0].ReadingVU+e.Channels[0].AimDB, 0))
	e.Task = said.New("task.lamp", "Set it by the lamp: one to three short flashes in about three seconds.")
	e.View = View{NeedleCovered: true}
	return e, nil
}
