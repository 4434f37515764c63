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

// makeTake draws the sound's seed, then as draft.record does.
func makeTake(f *draft) error {
	sound, v, err := f.sound()
	if err != nil {
		return err
	}
	e := f.record(sound, v, level.aim)
	e.Task = said.New("task.take", "Bring the fader up until it is right. The needle sets the average, as long as the peaks stay %s dB below the ceiling.",
		number(max(leastMargin, e.Rig.ToleranceDB)))
	if e.Rig.Soft() {
		e.Task = said.New("task.take_tape", "Bring the fader up until it is right: the needle at its target, or the lamp flashing now and then, whichever comes first.")
	}
	return nil
}

// The reasons of verdicts on what is recorded.
var (
	CodeClipped    = reason("clipped", "The take clipped: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks went over full scale.")
	codeNeedleIn   = reason("needle_in", "The needle decided: {hides}, and at {reading} VU they still have {room} dB of headroom.")
	codeNeedleHot  = reason("needle_hot", "The needle decided: {hides}; the source belongs near {aim} VU, and you left it at {reading} VU.")
	codeNeedleCold = reason("needle_cold", "The needle decided: {hides}, so it could come up to {aim} VU; at {reading} VU it sounds perfect at matched loudness, but somebody has to make up {error} dB later.")
	codePeaksIn    = reason("peaks_in", "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU they leave {room} dB of headroom.")
	codePeaksHot   = reason("peaks_hot", "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks are {room} dB over the ceiling.")
	codePeaksCold  = reason("peaks_cold", "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU it sounds perfect at matched loudness, but somebody has to make up {error} dB later.")
	codeLampIn     = reason("lamp_in", "The lamp decided: {hides}, so on tape it belongs near {aim} VU, where the lamp flashes only now and then.")
	codeLampHot    = reason("lamp_hot", "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}; {damage}.")
	// in the window of a source the lamp is never sparing on
	codeLampEdge        = reason("lamp_edge", "The lamp decided: {hides}, and the lamp goes from dark straight to lit, so on tape it belongs just below that, near {aim} VU.")
	codeLampCold        = reason("lamp_cold", "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}; {noise}.")
	codeClippedByNeedle = reason("clipped_by_needle", "You set it by the needle alone, and the take clipped: {hides}, so here it belongs near {aim} VU.")
	codeClippedPastLamp = reason("clipped_past_lamp", "The lamp first lit with the fader at {lit} dB, and you went on {past} dB until the take clipped: {hides}, so here it belongs near {aim} VU.")
	codeClippedInput    = reason("clipped_input", "The input itself clipped: its samples reach full scale. Turn down what is ahead of it, then look at the needle again.").headed("The input clips.")
	// on the way through a real desk, at a level that is not too high
	CodeClippedReturn = reason("clipped_return", "It came back with its tops cut off, although {reading} VU are not too high for it: something behind the fader clips; line the desk and the recorder up lower.").headed("It came back clipped.")
	codeByNeedle      = reason("by_needle", "You set it by the needle alone, and that cost {error} dB: {hides}, so here it belongs near {aim} VU.")
	codePastLamp      = reason("past_lamp", "The lamp first lit with the fader at {lit} dB, and you went on {past} dB: {hides}, so here it belongs near {aim} VU.")
	codePastLampTape  = reason("past_lamp_tape", "The lamp first lit with the fader at {lit} dB, and you went on {past} dB: {hides}, so on tape it belongs near {aim} VU; where you left it, {damage}.")
	// above the window, but not over the ceiling
	codePeaksClose     = reason("peaks_close", "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks come within {room} dB of the ceiling.")
	codePeaksLit       = reason("peaks_lit", "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU the lamp lights, but only as a warning: {room} dB of headroom left.")
	codeNeedleLit      = reason("needle_lit", "The needle decided: {hides}; at {reading} VU the lamp lights, but only as a warning: {room} dB of headroom left.")
	codeNeedleInTape   = reason("needle_in_tape", "The needle decided: {hides}, and at {reading} VU the lamp is {zone}; {damage}.")
	codeNeedleHotTape  = reason("needle_hot_tape", "The needle decided: {hides}; the source belongs near {aim} VU, and you left it at {reading} VU: {damage}.")
	codeNeedleColdTape = reason("needle_cold_tape", "The needle decided: {hides}, so it could come up to {aim} VU; you left it at {reading} VU: {noise}.")
	codeLampNear       = reason("lamp_near", "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, but {error} dB above the aim is close enough; {damage}.")
	codeLampNearCold   = reason("lamp_near_cold", "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, but {error} dB below the aim is close enough; {noise}.")
	// too hot, yet the lamp is sparing: few strokes, each far over
	codeLampHotFew = reason("lamp_hot_few", "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp still flashes only now and then, but the peaks run {room} dB above its threshold; {damage}.")
	// too low, yet the lamp flashes
	codeLampColdLit = reason("lamp_cold_lit", "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the peaks only just reach the lamp's threshold; {noise}.")
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
	s.meter(v, rig, tolerance, by)
	f.ex.record(s, rig, by, v.lamp, f.settings.Pause)
	return f.ex
}

// meter fills in the window about the aim, and what the meters make of a level.
func (s *Channel) meter(v level, rig Rig, tolerance float64, by Decider) {
	s.WindowDB = [2]float64{step(s.AimDB - tolerance), step(s.AimDB + tolerance)}
	s.ReadingVU = v.reading + s.StartGainDB - rig.ReferenceDBFS
	s.SamplePeakDBFS = v.peak + s.StartGainDB
	s.UnderReadDB = v.under(by)
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
	v := s.verdict(fader)
	v.DecidedBy, v.FlicksPerS = e.DecidedBy, lamp.rate()
	v.HeadroomDB = e.Rig.CeilingDBFS - s.SamplePeakDBFS - fader
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
		return codeClippedByNeedle
	case v.Clipped > 0 && peaky && v.PastLampDB > 0:
		return codeClippedPastLamp
	case v.Clipped > 0:
		return CodeClipped
	case e.View.NeedleCovered && e.DecidedBy == ByLamp:
		return countCode(v)
	case needleAlone:
		return codeByNeedle
	case hot && peaky && v.PastLampDB > 0 && tape:
		return codePastLampTape
	case hot && peaky && v.PastLampDB > 0:
		return codePastLamp
	case hot && e.DecidedBy == ByPeaks && v.HeadroomDB >= 0:
		return codePeaksClose
	case e.DecidedBy == ByNeedle && tape:
		return sided(codeNeedleInTape, codeNeedleHotTape, codeNeedleColdTape, v)
	case v.InWindow && e.DecidedBy == ByPeaks && lit:
		return codePeaksLit
	case v.InWindow && e.DecidedBy == ByNeedle && lit:
		return codeNeedleLit
	case v.InWindow && e.DecidedBy == ByLamp && x.lamp.span == 0:
		return codeLampEdge
	case v.InWindow && e.DecidedBy == ByLamp && v.Zone == ZoneDark:
		return codeLampNearCold
	case v.InWindow && e.DecidedBy == ByLamp && v.Zone != ZoneSparing:
		return codeLampNear
	case hot && e.DecidedBy == ByLamp && v.Zone == ZoneSparing:
		return codeLampHotFew
	case cold && e.DecidedBy == ByLamp && v.Zone != ZoneDark:
		return codeLampColdLit
	case e.DecidedBy == ByNeedle:
		return sided(codeNeedleIn, codeNeedleHot, codeNeedleCold, v)
	case e.DecidedBy == ByPeaks:
		return sided(codePeaksIn, codePeaksHot, codePeaksCold, v)
	}
	return sided(codeLampIn, codeLampHot, codeLampCold, v)
}

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

// Listened makes an exercise of a passage that came in at a line input, at the level
// at which it came in. Nothing of it can be moved here: its aim is by how much what
// is ahead of the input should be moved from where it stands, 0 dB. clipped is how
// many samples had reached the input's full scale: then it is not right, wherever the
// aim is. The error tells that the passage is silent, or that the rig cannot be worked.
func Listened(passage *source.Sound, rig Rig, clipped int64) (*Exercise, error) {
	if err := rig.Validate(); err != nil {
		return nil, err
	}
	v, err := (&draft{}).read(passage)
	if err != nil {
		return nil, err
	}
	d, _ := DrillByID(SetTake)
	e := &Exercise{Drill: d, Family: source.Own}
	aim, tolerance, by := v.aim(rig)
	s := Channel{Label: "A", Sound: passage, AimDB: step(aim)}
	s.meter(v, rig, tolerance, by)
	e.record(s, rig, by, v.lamp, nil)
	e.Controls = []Control{{Label: "A", Unit: "dB", Min: -120, Max: 120, Step: 0.1, Fixed: true}}
	e.rule = listened{e.rule.(recorded), clipped}
	return e, nil
}

// listened is the rule of what came in at a line input.
type listened struct {
	recorded
	clipped int64
}

func (x listened) verdict(e *Exercise, t Take) (Verdict, error) {
	v, err := x.recorded.verdict(e, t)
	if x.clipped > 0 {
		v.Clipped, v.Points, v.InWindow, v.Code = x.clipped, 0, false, codeClippedInput
	}
	return v, err
}
