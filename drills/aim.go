package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// level is what the meters make of a sound at some gain.
type level struct {
	reading float64 // dBFS: a sine of this level reads the same
	peak    float64 // dBFS, sample peak
	lamp    *lampBook
}

// quietest is the sample peak below which a passage is too quiet to work with.
const quietest = -80

// readLevel reads a sound as it is: of two channels the higher.
func readLevel(s *source.Sound) (level, error) {
	v := level{reading: math.Inf(-1), peak: math.Inf(-1)}
	for _, ch := range s.Channels {
		p := meter.ReadLoop(ch, audio.Rate)
		v.reading = max(v.reading, p.Reading)
		v.peak = max(v.peak, p.SamplePeak)
	}
	if v.peak < quietest || math.IsInf(v.reading, -1) {
		return level{}, said.Errorf("round.silent", "the sound is silent, or below %d dBFS", quietest)
	}
	v.lamp = newLampBook(s, v.peak)
	return v, nil
}

// aim returns the change of level in dB that a rig asks for, the highest that
// still counts as right, and what decided.
//
// Digital: T-R, so that the needle reads the target, or C-P, so that the peaks
// stay below the ceiling, whichever is lower; right up to C-P.
//
// Tape: T-R, or the highest setting at which the lamp is still sparing,
// whichever is lower; right up to the highest at which it is not yet lit.
// Settings are tried upwards in steps of 0.1 dB from where the highest peak
// just reaches the lamp. A sound that goes from dark to lit without flicking
// sparingly, as a steady tone does, stays 0.1 dB below that.
func (v level) aim(rig Rig) (db, top float64, by Decider) {
	needle := rig.TargetVU + rig.ReferenceDBFS - v.reading
	if !rig.Soft() {
		peaks := rig.CeilingDBFS - v.peak
		if needle <= peaks {
			return needle, peaks, ByNeedle
		}
		return peaks, peaks, ByPeaks
	}
	lamp, top, _ := v.aimByLamp(rig)
	if needle <= lamp {
		return needle, top, ByNeedle
	}
	return lamp, top, ByLamp
}

// aimByLamp is aim with the needle out of play: where the lamp is still
// sparing.
func (v level) aimByLamp(rig Rig) (db, top float64, by Decider) {
	touch := rig.LampDBFS - v.peak
	sparing, usable := v.lamp.lampRange()
	return touch + sparing, touch + usable, ByLamp
}

// draw holds the random numbers, each from 0 up to 1, that a rig is drawn by.
type draw struct{ peaks, tape, rig float64 }

const (
	peaksShare = 0.58 // of rounds in which the peaks or the lamp should decide: over half, since on steady sources they rarely can
	tapeShare  = 0.4  // of the rounds in which tape would let the right one decide
	near       = 6.0  // dB between headroom and under-read
	lampRoom   = 0.3  // dB over which the lamp must be sparing, where it is to decide
)

// drawRig draws a rig for a sound. First it is drawn whether the needle or the
// peaks should decide, so that over a session each does about equally often;
// then tape, if there the right one decides; else one of the digital rigs with
// 0 VU at -20 to -14 dBFS and a ceiling of -10 to -1 dBFS, in whole dB, in
// which it does: those whose headroom is within 6 dB of the sound's under-read
// if there are any, so that knowing the under-read matters. A sound that no
// rig lets the peaks decide (a sine) is left to the needle, and the other way
// round.
func drawRig(v level, d draw) Rig {
	want := ByNeedle
	if d.peaks < peaksShare {
		want = ByPeaks
	}
	if d.tape < tapeShare {
		rig := TapeRig()
		_, _, by := v.aim(rig)
		if sparing, _ := v.lamp.lampRange(); (by == ByNeedle) == (want == ByNeedle) && (by == ByNeedle || sparing >= lampRoom) {
			return rig
		}
	}
	under := v.peak - v.reading
	var all, right, best []Rig
	for reference := -20; reference <= -14; reference++ {
		for ceiling := -10; ceiling <= -1; ceiling++ {
			rig := digitalRig(float64(reference), float64(ceiling))
			all = append(all, rig)
			if _, _, by := v.aim(rig); by != want {
				continue
			}
			right = append(right, rig)
			if math.Abs(rig.HeadroomDB()-under) <= near {
				best = append(best, rig)
			}
		}
	}
	for _, rigs := range [][]Rig{best, right, all} {
		if len(rigs) > 0 {
			return rigs[int(d.rig*float64(len(rigs)))]
		}
	}
	return DigitalRig()
}
