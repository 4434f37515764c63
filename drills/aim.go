package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// level is what the meters make of a sound at some gain: of two channels the
// higher.
type level struct {
	reading float64 // dBFS: a sine of this level reads the same
	peak    float64 // dBFS, sample peak
	lamp    *lampProfile

	// Under-reads of the channel that reads highest, and of the one that peaks
	// highest. Of one channel, and mostly of two, they are the same.
	underOfReading, underOfPeak float64
}

// quietest is the sample peak below which a passage is too quiet to work with.
const quietest = -80

// read reads a sound as it is.
func (f *draft) read(s *source.Sound) (level, error) {
	v := level{reading: math.Inf(-1), peak: math.Inf(-1)}
	for _, ch := range s.Channels {
		f.pause()
		p := meter.ReadLoopInSlices(ch, audio.Rate, f.settings.Pause)
		if p.Reading > v.reading {
			v.reading, v.underOfReading = p.Reading, p.SamplePeak-p.Reading
		}
		if p.SamplePeak > v.peak {
			v.peak, v.underOfPeak = p.SamplePeak, p.SamplePeak-p.Reading
		}
	}
	if v.peak < quietest || math.IsInf(v.reading, -1) {
		return level{}, said.Errorf("round.silent", "the sound is silent, or below %d dBFS", quietest)
	}
	f.pause()
	v.lamp = newLampProfile(s, v.peak)
	f.pause()
	return v, nil
}

// under is the under-read in dB of the channel that decides.
func (v level) under(by Decider) float64 {
	if by == ByNeedle {
		return v.underOfReading
	}
	return v.underOfPeak
}

// leastMargin is the room in dB that the aim leaves between peaks and ceiling,
// where the tolerance is not more: there the standard lamp lights.
const leastMargin = lampBelowCeiling

// aim returns the change of level in dB that a rig asks for, how far to either
// side of it still counts as right, and what decided.
//
// Digital: T-R, so that the needle reads the target, or C-P-m, so that the peaks
// stay below the ceiling by a margin, whichever is lower. The margin is 3 dB or
// the tolerance, whichever is more, so that the window never passes the ceiling.
//
// Tape: T-R, or where the lamp flashes sparingly, whichever is lower; see
// lampProfile.sparing. Where the lamp decides, the window is at most
// lampTolerance to either side.
func (v level) aim(rig Rig) (db, tolerance float64, by Decider) {
	needle := rig.TargetVU + rig.ReferenceDBFS - v.reading
	if rig.Soft() {
		if lamp, tolerance, by := v.aimByLamp(rig); lamp < needle {
			return lamp, tolerance, by
		}
		return needle, rig.ToleranceDB, ByNeedle
	}
	peaks := rig.CeilingDBFS - v.peak - max(leastMargin, rig.ToleranceDB)
	if needle <= peaks {
		return needle, rig.ToleranceDB, ByNeedle
	}
	return peaks, rig.ToleranceDB, ByPeaks
}

// lampTolerance is the widest tolerance in dB where the lamp decides.
const lampTolerance = 1.5

// aimByLamp is aim with the needle out of play.
func (v level) aimByLamp(rig Rig) (db, tolerance float64, by Decider) {
	return rig.LampDBFS - v.peak + v.lamp.aim(), min(rig.ToleranceDB, lampTolerance), ByLamp
}

// draw holds the random numbers, each from 0 up to 1, that a rig is drawn by.
// With tape at 1 it is a digital one.
type draw struct{ peaks, tape, rig float64 }

// peaksWish is the share of a family's rounds in which the peaks, on tape the
// lamp, are wanted to decide, less wishFall for each step of the ladder, on which
// sources grow more uneven and under-read more. Where no rig lets them, or none
// lets the needle, it is the other. A steady source is left to the needle, as in
// life.
var peaksWish = map[source.Family]float64{source.Voice: 0.58, source.Plucked: 0.6, source.Struck: 0.08, source.Ensemble: 0.56, source.Own: 0.5}

const wishFall = 0.003

const (
	tapeShare = 0.35 // of the rounds in which tape would let the right one decide
	near      = 6.0  // dB between the under-read and the headroom less the margin
	lampRoom  = 0.3  // dB over which the lamp must be sparing, where it is to decide
)

// drawRig draws a rig of a tolerance for a sound. First it is drawn whether the
// needle or the peaks should decide, which is wished for in a share of rounds; then tape, if there the right one
// decides; else one of digitalRigs in which it does, among those whose headroom
// less the margin is within 6 dB of the sound's under-read, so that knowing the
// under-read matters; else tape, if there the right one decides; else one in
// which the other does.
func drawRig(wish float64, v level, tolerance float64, d draw) Rig {
	byNeedle := d.peaks >= wish
	tape := TapeRig()
	tape.ToleranceDB = tolerance
	_, _, by := v.aim(tape)
	tapeFits := (by == ByNeedle) == byNeedle && (by == ByNeedle || v.lamp.span >= lampRoom)
	if tapeFits && d.tape < tapeShare {
		return tape
	}
	var right, close, all []Rig
	for _, rig := range digitalRigs() {
		rig.ToleranceDB = tolerance
		all = append(all, rig)
		if math.Abs(rig.HeadroomDB()-max(leastMargin, tolerance)-(v.peak-v.reading)) > near {
			continue
		}
		close = append(close, rig)
		if _, _, by := v.aim(rig); (by == ByNeedle) == byNeedle {
			right = append(right, rig)
		}
	}
	switch {
	case len(right) > 0:
	case tapeFits && d.tape < 1:
		return tape
	case len(close) > 0:
		right = close
	default:
		right = all
	}
	return right[int(d.rig*float64(len(right)))]
}

// Zone is how a lamp behaves on a source at one setting, by the most flicks in
// any three seconds of the repeating loop and by how much of any three seconds
// it is lit.
type Zone string

// The zones, from low to high (our reading of common practice on tape).
const (
	ZoneDark    Zone = "dark"    // no flick: the take sits in the noise
	ZoneSparing Zone = "sparing" // up to one a second: right
	ZoneBusy    Zone = "busy"    // up to 1.5 a second: usable
	ZoneLit     Zone = "lit"     // more, or on for over half of any three seconds: badly distorted
)

// busyRate is the most flicks a second of a lamp that is busy, not lit.
const busyRate = 1.5

// CountSeconds is the stretch in seconds over which a lamp's flicks are counted.
const CountSeconds = 3

// lampHold is how long the lamp stays lit after the last sample that reached
// its threshold, in seconds.
const lampHold = meter.LampHold

// lampStep is the step in which settings above the first light are tried.
const lampStep = 0.1

// lampState is what the lamp does over the repeating loop at one setting.
type lampState struct {
	flicks int     // the most in any three seconds
	share  float64 // the most of any three seconds that it is lit
}

func (s lampState) rate() float64 { return float64(s.flicks) / CountSeconds }

func (s lampState) zone() Zone {
	switch {
	case s.share > 0.5:
		return ZoneLit
	case s.flicks == 0:
		return ZoneDark
	case s.rate() <= 1:
		return ZoneSparing
	case s.rate() <= busyRate:
		return ZoneBusy
	}
	return ZoneLit
}

// lampProfile is what the lamp does on a sound at every setting.
type lampProfile struct {
	lamp *meter.LampMap
	peak float64 // sample peak, dBFS
	span float64 // dB above the first flash up to which it is sparing; 0: never
}

func newLampProfile(s *source.Sound, peak float64) *lampProfile {
	p := &lampProfile{lamp: meter.NewLampMap(audio.Rate, lampHold, s.Channels...), peak: peak}
	for k := 1; k <= 400; k++ {
		over := float64(k) * lampStep
		if p.at(over).zone() != ZoneSparing {
			break
		}
		p.span = over
	}
	return p
}

// at returns the lamp's state when the loop's highest peak stands over dB above
// the threshold.
func (p *lampProfile) at(over float64) lampState {
	if over < 0 {
		return lampState{}
	}
	c := p.lamp.At(p.peak - over)
	return lampState{flicks: c.Busiest, share: c.LitMost}
}

// aim returns where the lamp should be, in dB above the setting at which the
// loop's highest peak just reaches the threshold: half of the span over which it
// is sparing, at most lampTolerance. A sound that goes from dark to lit without
// flashing sparingly, as a steady tone does, stays 0.1 dB below the threshold.
func (p *lampProfile) aim() float64 {
	if p.span == 0 {
		return -lampStep
	}
	return min(p.span/2, lampTolerance)
}
