// Package drills knows what a round asks for, what a take answered, and what
// the verdict on it is. It knows no screen and no device.
//
// A round is entirely determined by its seed, index, level and settings; a verdict
// by its round and take. Levels agree on every platform to 0.01 dB.
package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// Decider is what set the aim.
type Decider string

// What can decide.
const (
	ByNeedle Decider = "needle"
	ByPeaks  Decider = "peaks"
	ByLamp   Decider = "lamp"
)

// recorded is the rule of the drills in which one source is recorded: Set the
// take and Lamp count. What it judges by stands in the exercise and its channel.
type recorded struct {
	lamp *lampProfile
	tape *damageTable // nil on a digital rig
}

// aiming is a rule that tells where a sound belongs in a rig; see level.aim.
type aiming func(v level, rig Rig) (db, tolerance float64, by Decider)

// record completes the exercise with a sound that is recorded. It draws, whatever
// the settings are, whether needle or peaks should decide; whether on tape; which
// of the fitting rigs; where on the fader the aim lies. So asking for the rig
// that a round has anyway changes nothing.
func (f *draft) record(sound *source.Sound, v level, rule aiming) *Exercise {
	d := draw{peaks: f.rng.Float64(), tape: f.rng.Float64(), rig: f.rng.Float64()}
	s := f.channel("A")
	w := f.params.ToleranceDB
	if sound.Raw && (sound.Family == source.Plucked || sound.Family == source.Struck) {
		w = max(w, leastRaw)
	}
	rig := drawRig(f.peaksWish(), v, w, d)
	if f.settings.Rig != nil {
		rig = *f.settings.Rig
		rig.ToleranceDB = w
	}
	right, tolerance, by := rule(v, rig)
	s.Sound = sound
	s.StartGainDB = right - s.AimDB
	s.WindowDB = [2]float64{step(s.AimDB - tolerance), step(s.AimDB + tolerance)}
	s.ReadingVU = v.reading + s.StartGainDB - rig.ReferenceDBFS
	s.SamplePeakDBFS = v.peak + s.StartGainDB
	s.UnderReadDB = v.under(by)
	f.ex.ToleranceDB = w
	f.ex.record(s, rig, by, v.lamp, f.settings.Pause)
	return f.ex
}

// record completes an exercise that records one channel in a rig. If pause is not nil it
// is called between slices of later work.
func (e *Exercise) record(s Channel, rig Rig, by Decider, lamp *lampProfile, pause func()) {
	e.Rig, e.DecidedBy, e.Channels = rig, by, []Channel{s}
	e.Solution = said.New("solution.take", "%s: the needle under-reads this source by %.1f dB, so it belongs near %s VU.",
		decided[by], step(s.UnderReadDB), signed(math.Round(s.ReadingVU+s.AimDB), 0))
	if by == ByNeedle {
		e.Solution = said.New("solution.take_needle", "The needle decided: with the peaks %.1f dB above it, it can go to its target of %s VU.",
			step(s.UnderReadDB), brief(rig.TargetVU))
	}
	x := recorded{lamp: lamp}
	if rig.Soft() {
		x.tape = &damageTable{reference: rig.ReferenceDBFS, sound: s.Sound, pause: pause}
	}
	e.rule = x
}

// leastRaw is the narrowest tolerance in dB on plucked and struck sources straight
// from the microphone, whose peaks differ from stroke to stroke.
const leastRaw = 1.0

// decided begins the sentence that tells what was right.
var decided = map[Decider]said.Sentence{
	ByNeedle: said.New("decided.needle", "The needle decided"),
	ByPeaks:  said.New("decided.peaks", "The peaks decided"),
	ByLamp:   said.New("decided.lamp", "The lamp decided"),
}

// verdict: the setting is where the fader stood at the lock. It is right if it
// lies in the round's window; distances from the window are rounded to 0.1 dB, so
// that 0.04 dB outside is still right: about one decibel is the smallest step
// that matters to the ear, and nothing is scored finer than a tenth of it.
// See Points for what it is worth.
func (x recorded) verdict(e *Exercise, t Take) (Verdict, error) {
	s := e.Channels[0]
	fader := e.Setting(t, 0)
	lamp := x.lampAt(e, fader)
	out := outside(fader, s.WindowDB)
	v := Verdict{
		FaderDB:     fader,
		AimDB:       s.AimDB,
		ErrorDB:     step(fader - s.AimDB),
		InWindow:    out == 0,
		DecidedBy:   e.DecidedBy,
		UnderReadDB: s.UnderReadDB,
		ReadingVU:   s.ReadingVU + fader,
		AimVU:       s.ReadingVU + s.AimDB,
		HeadroomDB:  e.Rig.CeilingDBFS - s.SamplePeakDBFS - fader,
		FlicksPerS:  lamp.rate(),
	}
	v.Points = Points(out, false)
	if e.Rig.Soft() {
		v.Zone = lamp.zone()
		var err error
		if v.SNRDB, v.DistortionPercent, err = x.tape.at(s.StartGainDB + fader); err != nil {
			return Verdict{}, err
		}
		v.Damage, v.Noise = damageOf(v.DistortionPercent), noiseOf(v.SNRDB)
	} else if v.Clipped = s.clipped(fader); v.Clipped > 0 {
		v.Points = 0
	}
	v.PastLampDB = x.pastLamp(e, t)
	v.Code = x.code(e, v)
	return v, nil
}

// pastLamp returns by how many dB a take went on up from the setting at which the
// lamp first lit, on what sounded then; less than half a decibel is none.
func (x recorded) pastLamp(e *Exercise, t Take) float64 {
	s, fader := e.Channels[0], e.Setting(t, 0)
	for i, m := range t.Moves {
		until := t.LockAt
		if i+1 < len(t.Moves) {
			until = t.Moves[i+1].At
		}
		to := e.Controls[0].settle(m.To)
		if lamp := e.Rig.LampDBFS - lightSlack; s.SamplePeakDBFS+to >= lamp && x.lamp.lamp.Reaches(lamp-s.StartGainDB-to, m.At, until) {
			if to <= fader-0.5 {
				return step(fader - to)
			}
			return 0
		}
	}
	return 0
}

// lightSlack in dB covers what rounding does to a peak that is exactly at the
// threshold, as it is at an aim that the peaks decide.
const lightSlack = 1e-5

// byNeedle is how near to its target, in dB, the needle is where the fader was set
// by it alone, although that is at least so much above the aim.
const byNeedle = 1.0

// code names the reason of a verdict whose other fields are known: what the take
// and its moves show first.
func (x recorded) code(e *Exercise, v Verdict) Code {
	hot, cold := !v.InWindow && v.ErrorDB > 0, !v.InWindow && v.ErrorDB < 0
	tape, peaky := e.Rig.Soft(), e.DecidedBy != ByNeedle
	needleAlone := hot && peaky && math.Abs(v.ReadingVU-e.Rig.TargetVU) <= byNeedle && e.Rig.TargetVU-v.AimVU >= byNeedle
	lit := v.HeadroomDB-lightSlack <= e.Rig.CeilingDBFS-e.Rig.LampDBFS
	switch {
	case v.Clipped > 0 && needleAlone:
		return CodeClippedByNeedle
	case v.Clipped > 0 && peaky && v.PastLampDB > 0:
		return CodeClippedPastLamp
	case v.Clipped > 0:
		return CodeClipped
	case e.View.NeedleCovered && e.DecidedBy == ByLamp:
		return countCode(v)
	case needleAlone:
		return CodeByNeedle
	case hot && peaky && v.PastLampDB > 0 && tape:
		return CodePastLampTape
	case hot && peaky && v.PastLampDB > 0:
		return CodePastLamp
	case hot && e.DecidedBy == ByPeaks && v.HeadroomDB >= 0:
		return CodePeaksClose
	case e.DecidedBy == ByNeedle && tape:
		return sided(CodeNeedleInTape, CodeNeedleHotTape, CodeNeedleColdTape, v)
	case v.InWindow && e.DecidedBy == ByPeaks && lit:
		return CodePeaksLit
	case v.InWindow && e.DecidedBy == ByNeedle && lit:
		return CodeNeedleLit
	case v.InWindow && e.DecidedBy == ByLamp && x.lamp.span == 0:
		return CodeLampEdge
	case v.InWindow && e.DecidedBy == ByLamp && v.Zone == ZoneDark:
		return CodeLampNearCold
	case v.InWindow && e.DecidedBy == ByLamp && v.Zone != ZoneSparing:
		return CodeLampNear
	case hot && e.DecidedBy == ByLamp && v.Zone == ZoneSparing:
		return CodeLampHotFew
	case cold && e.DecidedBy == ByLamp && v.Zone != ZoneDark:
		return CodeLampColdLit
	}
	return Code(e.DecidedBy) + "_" + sided("in", "hot", "cold", v)
}

// countCode names the reason where the lamp's flashes were to be counted.
func countCode(v Verdict) Code {
	on := v.Zone == ZoneLit && v.FlicksPerS <= busyRate // for most of the time
	switch {
	case v.InWindow && v.Zone == ZoneDark:
		return CodeCountNearCold
	case v.InWindow && on:
		return CodeCountNearLit
	case v.InWindow && v.Zone != ZoneSparing:
		return CodeCountNear
	case v.InWindow:
		return CodeCountIn
	case v.ErrorDB < 0 && v.Zone == ZoneDark:
		return CodeCountCold
	case v.ErrorDB < 0:
		return CodeCountColdLit
	case on:
		return CodeCountLit
	case v.Zone == ZoneSparing:
		return CodeCountHotFew
	}
	return CodeCountHot
}

func (recorded) show(e *Exercise) Take { return e.showAll() }

func (recorded) figures(e *Exercise, v Verdict) []Figure {
	lamp := Figure{Name: said.New("figure.lamp", "lamp"), Value: v.FlicksPerS, Unit: UnitPerSecond, Decimals: 1}
	if e.View.NeedleCovered { // in the unit that was asked for
		lamp = Figure{Name: said.New("figure.lamp_count", "flashes in 3 s"), Value: CountSeconds * v.FlicksPerS}
	}
	if v.Zone == ZoneLit || v.Zone == ZoneBusy {
		lamp.Tone = ToneWarn
	}
	if v.FlicksPerS == 0 && e.Rig.CeilingDBFS-v.HeadroomDB >= e.Rig.LampDBFS {
		lamp.Text = said.New("figure.lamp_on", "on all the time") // it would flash if it ever went out
	}
	list := []Figure{errorFigure(v), aimFigure(v), underFigure(v), needleFigure(v)}
	if !e.Rig.Soft() {
		return append(list, headroomFigure(v), lamp, clippedFigure(v))
	}
	grit := Figure{Name: said.New("figure.distortion", "distortion"), Value: v.DistortionPercent, Unit: UnitPercent, Decimals: 1}
	if v.Damage == DamageDistorted || v.Damage == DamageSpoiled {
		grit.Tone = ToneBad
	}
	return append(list, lamp, Figure{Name: said.New("figure.noise", "S/N"), Value: v.SNRDB, Unit: UnitDB}, grit)
}

// lampAt returns what the lamp does with the fader at a setting.
func (x recorded) lampAt(e *Exercise, fader float64) lampState {
	return x.lamp.at(e.Channels[0].SamplePeakDBFS + fader - e.Rig.LampDBFS)
}

// clipped counts the samples of one turn of the loop at or beyond full scale
// with the fader at a setting, of the channel that has more.
func (s *Channel) clipped(fader float64) int64 {
	if s.SamplePeakDBFS+fader < 0 {
		return 0
	}
	limit := float32(audio.Gain(-s.StartGainDB - fader))
	var most int64
	for _, ch := range s.Sound.Channels {
		var n int64
		for _, x := range ch {
			if x >= limit || x <= -limit {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

func round3(v float64) float64 { return math.Round(v*1000)/1000 + 0 }

// step rounds to the tenth of a decibel, below which nothing is scored.
func step(v float64) float64 { return math.Round(v*10)/10 + 0 }
