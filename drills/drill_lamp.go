package drills

import (
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts.
var (
	codeCountIn       = reason("count_in", "Flashes in the busiest three seconds: {flashes}; one to three are right.")
	codeCountNear     = reason("count_near", "Flashes in the busiest three seconds: {flashes}, where one to three are right, but {error} dB above the aim is close enough; {damage}.")
	codeCountNearLit  = reason("count_near_lit", "The lamp was on most of the time, where one to three flashes in three seconds are right, but {error} dB above the aim is close enough; {damage}.")
	codeCountNearCold = reason("count_near_cold", "The lamp stayed dark, where one to three flashes in three seconds are right, but {error} dB below the aim is close enough; {noise}.")
	codeCountHot      = reason("count_hot", "Flashes in the busiest three seconds: {flashes}, where one to three are right; {damage}.")
	codeCountHotFew   = reason("count_hot_few", "Flashes in the busiest three seconds: {flashes}, no more than are right, but the peaks run {room} dB above the lamp's threshold; {damage}.")
	codeCountLit      = reason("count_lit", "The lamp was on most of the time, where one to three flashes in three seconds are right; {damage}.")
	codeCountCold     = reason("count_cold", "Flashes in the busiest three seconds: {flashes}, where one to three are right; {noise}.")
	codeCountColdLit  = reason("count_cold_lit", "Flashes in the busiest three seconds: {flashes}, but the peaks only just reach the lamp's threshold; {noise}.")
)

// makeLamp draws the sound's seed, again as long as the lamp has no room to be
// sparing in on that sound (eight times at most), then as
// draft.record does. It is played on tape; of a digital rig that is asked for only
// the reference is taken.
func makeLamp(f *draft) error {
	var sound *source.Sound
	var v level
	for range 8 {
		var err error
		if sound, v, err = f.sound(); err != nil {
			return err
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
	return nil
}

// countCode names the reason where the lamp's flashes were to be counted.
func countCode(v Verdict) Code {
	on := v.Zone == ZoneLit && v.FlicksPerS <= busyRate // for most of the time
	switch {
	case v.InWindow && v.Zone == ZoneDark:
		return codeCountNearCold
	case v.InWindow && on:
		return codeCountNearLit
	case v.InWindow && v.Zone != ZoneSparing:
		return codeCountNear
	case v.InWindow:
		return codeCountIn
	case v.ErrorDB < 0 && v.Zone == ZoneDark:
		return codeCountCold
	case v.ErrorDB < 0:
		return codeCountColdLit
	case on:
		return codeCountLit
	case v.Zone == ZoneSparing:
		return codeCountHotFew
	}
	return codeCountHot
}
