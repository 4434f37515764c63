// Package drills knows what a round asks for, what a take answered, and what
// the verdict on it is. It knows no screen and no device.
//
// A round is entirely determined by its seed, index, level and settings; a verdict
// by its round and take. Levels agree on every platform to 0.01 dB.
package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/medium"
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
// take and Lamp count. What it judges by stands in the exercise and its strip.
type recorded struct{ lamp *lampBook }

// aiming is a rule that tells where a sound belongs in a rig; see level.aim.
type aiming func(v level, rig Rig) (db, top float64, by Decider)

// record completes the exercise with a sound that is recorded. It draws, whatever
// the settings are, whether needle or peaks should decide; whether on tape; which
// of the fitting rigs; where on the fader the aim lies. So asking for the rig
// that a round has anyway changes nothing.
func (f *draft) record(sound *source.Sound, v level, rule aiming) *Exercise {
	d := draw{peaks: f.rng.Float64(), tape: f.rng.Float64(), rig: f.rng.Float64()}
	s := f.strip("A")
	rig := drawRig(v, d)
	if f.settings.Rig != nil {
		rig = *f.settings.Rig
	}
	rig.ToleranceDB = f.params.ToleranceDB
	right, top, by := rule(v, rig)
	s.Sound = sound
	s.StartGainDB = right - s.AimDB
	s.WindowDB[1] = s.AimDB + min(rig.ToleranceDB, top-right)
	s.ReadingVU = v.reading + s.StartGainDB - rig.ReferenceDBFS
	s.SamplePeakDBFS = v.peak + s.StartGainDB
	s.UnderReadDB = v.peak - v.reading
	e := f.ex
	e.Rig, e.DecidedBy, e.Strips = rig, by, []Strip{s}
	e.Solution = said.New("solution.take", "%s: the needle under-reads this source by %.1f dB, so it belongs near %s VU.",
		decided[by], s.UnderReadDB, signed(math.Round(s.ReadingVU+s.AimDB), 0))
	e.rule = recorded{v.lamp}
	return e
}

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
	s := e.Strips[0]
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
	if e.Rig.Soft() {
		v.Zone = lamp.zone()
	} else {
		v.Clipped = s.clipped(fader)
	}
	v.Points = Points(out, v.Clipped > 0)
	switch {
	case v.Clipped > 0:
		v.Code = CodeClipped
	case v.InWindow && e.DecidedBy == ByLamp && x.lampAt(e, s.AimDB).zone() == ZoneDark:
		v.Code = CodeLampEdge
	default:
		v.Code = Code(e.DecidedBy) + "_" + sided("in", "hot", "cold", v)
	}
	return v, nil
}

func (recorded) show(e *Exercise) Take { return e.showAll() }

func (recorded) figures(e *Exercise, v Verdict) []Figure {
	lamp := Figure{Name: said.New("figure.lamp", "lamp"), Value: v.FlicksPerS, Unit: UnitPerSecond, Decimals: 1}
	if v.Zone == ZoneLit || v.Zone == ZoneBusy {
		lamp.Tone = ToneWarn
	}
	if v.FlicksPerS == 0 && e.Rig.CeilingDBFS-v.HeadroomDB >= e.Rig.LampDBFS {
		lamp.Text = said.New("figure.lamp_on", "on all the time") // it would flick if it ever went out
	}
	list := []Figure{errorFigure(v), aimFigure(v), underFigure(v), needleFigure(v), headroomFigure(v), lamp}
	if !e.Rig.Soft() {
		list = append(list, clippedFigure(v))
	}
	return list
}

// lampAt returns what the lamp does with the fader at a setting.
func (x recorded) lampAt(e *Exercise, fader float64) lampState {
	return x.lamp.at(e.Strips[0].SamplePeakDBFS + fader - e.Rig.LampDBFS)
}

// clipped counts the samples of one turn of the loop at or beyond full scale
// with the fader at a setting, of the channel that has more.
func (s *Strip) clipped(fader float64) int64 {
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

// Damage is what the medium does to a take, as medium.Damage defines it.
type Damage struct {
	SNRDB             float64 `json:"snr_db"` // A-weighted
	DistortionPercent float64 `json:"distortion_percent"`
}

// Damage returns what the medium does to a take with the fader where it stood
// at the lock; ok is false in drills that record no source. It takes some
// milliseconds.
func (e *Exercise) Damage(t Take) (d Damage, ok bool, err error) {
	if _, ok := e.rule.(recorded); !ok {
		return Damage{}, false, nil
	}
	s := e.Strips[0]
	d.SNRDB, d.DistortionPercent, err = medium.Damage(e.Rig.Medium, e.Rig.ReferenceDBFS, s.Sound.Channels, s.StartGainDB+e.Setting(e.cut(t), 0))
	return d, err == nil, err
}

func round3(v float64) float64 { return math.Round(v*1000)/1000 + 0 }

// step rounds to the tenth of a decibel, below which nothing is scored.
func step(v float64) float64 { return math.Round(v*10)/10 + 0 }
