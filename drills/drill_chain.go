package drills

import (
	"math"

	"slowneedle/audio/chain"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts; {part} is the stage that is meant.
var (
	codeChainIn = reason("chain_in", "S/N is {loss} dB below the best that this chain allows, and the tightest stage, the {part}, keeps {room} dB of headroom.").headed("In the window: S/N {snr} dB.")
	// with less headroom than that of the best setting, and the more gain
	codeChainAbove   = reason("chain_above", "S/N is {loss} dB above that of the best setting, which keeps 6 dB of headroom everywhere; here the tightest stage, the {part}, keeps {room} dB.").headed("In the window: S/N {snr} dB.")
	codeChainClipped = reason("chain_clips", "The peaks were {room} dB above where the {part} clips: with {error} dB less there they keep the 6 dB of headroom of the best setting.").headed("Clipped at the {part}.")
	// the preamp's input clips for want of the pad
	codeChainNoPad = reason("chain_no_pad", "The peaks were {room} dB above what the preamp's input takes, and no later control can mend that: this source needs the pad.").headed("Clipped at the preamp's input.")
	// too little headroom
	codeChainTight = reason("chain_tight", "At the {part} the peaks come within {room} dB of clipping, and its lamp lights at 3 dB: with {error} dB less there they keep the 6 dB of headroom of the best setting.").headed("Only {room} dB of headroom at the {part}.")
	// too little gain, made up later
	codeChainHiss = reason("chain_hiss", "You made it up at the {made}, and the noise came up with it: S/N is {loss} dB below the best that this chain allows.").headed("{error} dB too little at the {part}.")
	// the same by a pad that was not needed
	codeChainPad = reason("chain_pad", "You made up its {error} dB at the {made}, and the noise came up with them: S/N is {loss} dB below the best that this chain allows.").headed("The pad was not needed.")
	// too little gain, not made up
	codeChainLow = reason("chain_low", "You did not make it up later: the recorder gets {reading} VU, the target was {asked} VU, and S/N is {loss} dB below the best that this chain allows.").headed("{error} dB too little at the {part}.")
	// all is right but the level at the end
	codeChainHot  = reason("chain_hot", "Noise and headroom are right, but the recorder gets {reading} VU; the target was {asked} VU.")
	codeChainCold = reason("chain_cold", "Noise and headroom are right, but the recorder gets {reading} VU; the target was {asked} VU.")
)

// Levels of the ladder from which the chain drill asks for more.
const (
	chainPad      = 6  // a pad, and sources that need it
	chainBus      = 12 // the mix bus, noisier, and less room in the recorder
	chainLies     = 16 // marks of the fader that lie
	chainRecorder = 20 // the recorder's input
)

// What is asked of a chain, in dB.
const (
	chainBest = 6.0 // headroom at every stage, of the best setting
	chainRoom = 3.0 // of a right one: there the stages' lamps light
	chainLoss = 2.0 // of signal-to-noise ratio against the best that is still right

	// By how much the preamplifier's own noise stays below the channel's at the best
	// setting, at least: with more of it too little gain would cost less than it should, for
	// then the noise goes down with the gain.
	chainNoise = 1.0

	chainMadeUp = 6.0 // that may still be missing at the end where gain was made up late
)

// The stages behind the microphone, by their place in Exercise.Stages.
const (
	padStage = iota
	preampStage
	faderStage
	busStage
	recorderStage
)

// chainKit is the figures of a desk in dBu, its noise over 20 kHz. They are our own
// and those of an older and noisier desk: with the preamplifiers of today 8 dB too
// little gain would cost half a decibel, and nobody could hear what is taught here.
type chainKit struct {
	ein       float64 // equivalent input noise of the preamplifier at 150 ohms
	channel   float64 // noise ahead of the fader
	fader     float64 // of the amplifier behind it
	bus       float64 // at the input of the mix bus
	converter float64 // at the recorder's input
	input     float64 // where the preamplifier's input clips
	full      float64 // what gives full scale in the recorder

	least, most float64 // of the sources that need no pad
}

const (
	outputClips = 20.0  // dBu, of preamplifier, fader and bus
	padLoss     = -20.0 // dB
	chainOhms   = 150.0 // of the microphone
	roomCelsius = 20.0
	vuDBu       = 4.0 // 0 VU
)

var (
	easyKit   = chainKit{ein: -124, channel: -68, fader: -92, bus: -84, converter: -88, input: 0, full: 24, least: -46, most: -26}
	mediumKit = chainKit{ein: -125, channel: -70, fader: -90, bus: -80, converter: -88, input: -4, full: 24, least: -50, most: -42}
	hardKit   = chainKit{ein: -126, channel: -72, fader: -90, bus: -76, converter: -84, input: -4, full: 18, least: -52, most: -44} // EBU R 68: 0 dBu is -18 dBFS
)

// chainRule judges the settings of a chain.
type chainRule struct {
	source  float64 // dBu, as the needle reads it
	peaks   float64 // dB above it
	thermal float64 // noise of the microphone, dBu
	target  float64 // dBu at the recorder
}

// makeChain draws the sound's seed (again, eight times at most, if its peaks run
// more than 24 dB above the needle); whether it is hot enough to need the pad, from
// the step on at which there is one; its level, the microphone, and by how much the
// fader's marks lie, if they do.
//
// The recorder is to get 0 VU, +4 dBu, or less: so much less that the peaks stay 6
// dB below the lowest point at which a stage behind the preamplifier clips, in whole
// decibels. With a rig that is asked for, its reference says what full scale is.
func makeChain(f *draft) error {
	sound, v, err := f.sound()
	for range 7 {
		if err != nil || v.peak-v.reading <= 24 {
			break
		}
		sound, v, err = f.sound()
	}
	if err != nil {
		return err
	}
	return f.chain(sound, v)
}

// chain is makeChain with the sound drawn.
func (f *draft) chain(sound *source.Sound, v level) error {
	kit := easyKit
	switch {
	case f.level >= chainBus:
		kit = hardKit
	case f.level >= chainPad:
		kit = mediumKit
	}
	if f.settings.Rig != nil {
		kit.full = vuDBu - f.settings.Rig.ReferenceDBFS
	}
	spl, mic, lie := f.chainSource(kit, v.underOfPeak)
	x := chainRule{peaks: v.underOfPeak, thermal: chain.Thermal(chainOhms, roomCelsius), source: spl - pascalSPL + chain.Millivolts(mic)}
	x.target = math.Floor(min(vuDBu, min(outputClips, kit.full)-chainBest-x.peaks))

	e := f.ex
	e.Rig = digitalRig(vuDBu-kit.full, -chainRoom)
	e.Rig.LampDBFS = e.Rig.CeilingDBFS
	e.Rig.TargetVU = x.target - vuDBu
	e.Rig.ToleranceDB = max(f.params.ToleranceDB, 1)
	if err := e.Rig.Validate(); err != nil {
		return err
	}
	e.Channels = []Channel{{Label: "microphone", Sound: sound, Fixed: true, StartGainDB: e.dBFS(x.source) - v.reading, UnderReadDB: x.peaks}}
	e.Stages = kit.stages(f.level)
	task := said.New("task.chain", "%s dB SPL on a microphone of %s mV/Pa. Set the stages so that the recorder gets %s VU, every lamp stays dark and the noise low.",
		number(spl), number(mic), brief(e.Rig.TargetVU))
	if f.level >= chainLies {
		e.Stages[faderStage].HiddenDB = lie
		task = said.New("task.chain_lies", "%s dB SPL on a microphone of %s mV/Pa. The recorder is to get %s VU, with every lamp dark and the noise low. The marks of the fader cannot be trusted: 0 is not unity.",
			number(spl), number(mic), brief(e.Rig.TargetVU))
	}
	x.setAims(e.Stages)
	free := 0
	for _, s := range e.Stages {
		if !s.Fixed {
			free++
		}
	}
	e.Seconds *= float64(free)
	e.View = View{PerChannel: true, LampCovered: true}
	e.Task = task
	preamp := e.Stages[preampStage]
	e.Solution = said.New("solution.chain", "Gain early, before noise is added: %s dB at the preamp, where the peaks stay 6 dB below clipping, and no more than is asked for after it.", number(preamp.Aim))
	if e.Stages[padStage].Aim < 0 {
		e.Solution = said.New("solution.chain_pad", "The peaks would clip the preamp's input, so the pad goes in; then gain early, before noise is added: %s dB at the preamp, where the peaks stay 6 dB below clipping.", number(preamp.Aim))
	}
	e.rule = x
	return nil
}

// pascalSPL is the sound pressure level of one pascal, dB.
const pascalSPL = 94.0

// chainSource draws how loud a source is whose peaks run so far above the needle, dB SPL;
// the microphone it is in front of, mV/Pa; and by how much the fader's marks lie.
func (f *draft) chainSource(kit chainKit, peaks float64) (spl, mic, lie float64) {
	low, high := kit.least, kit.most
	hot := f.rng.IntN(2) == 1 && f.level >= chainPad
	at := f.rng.Float64()
	mic, lie = microphones[f.rng.IntN(len(microphones))], f.between(3, 6)
	if f.rng.IntN(2) == 1 {
		lie = -lie
	}
	if hot {
		low, high = kit.input+3.5-peaks, kit.input+10-peaks
	} else {
		// The peaks fit without a pad, and with one the preamp would be heard: it costs 8
		// to 17 dB. (For 11 at least, the right gain would have to be 47 to 53 dB; what is right
		// is 6 to 7 dB wide, so a preamplifier left at 50 dB would always be.)
		high = min(high, kit.input-chainBest-2-peaks)
		if f.level >= chainPad {
			high = min(high, -31-peaks)
		}
		low = min(low, high)
		least := outputClips - chainBest - (kit.channel - kit.ein - chainNoise) - peaks
		low, high = max(low, least), max(high, least)
	}
	return math.Round(low + at*(high-low) - chain.Millivolts(mic) + pascalSPL), mic, lie
}

// microphones are sensitivities in mV/Pa: of moving-coil and of condenser
// microphones (common practice).
var microphones = []float64{1.5, 2, 2.5, 8, 10, 20}

// stages are the desk's, as they stand at the start of a round of a level.
func (kit chainKit) stages(level int) []Stage {
	stage := func(label string, lo, hi, step, start float64, from int) Control {
		return Control{Label: label, Unit: "dB", Min: lo, Max: hi, Step: step, Start: start, Aim: start, Fixed: level < from}
	}
	return []Stage{
		padStage:      {stage("pad", padLoss, 0, -padLoss, 0, chainPad), 0, 0, math.Inf(-1), kit.input},
		preampStage:   {stage("preamp", 10, 60, 1, 10, 0), 1, 0, kit.ein, outputClips},
		faderStage:    {stage("fader", -30, 10, 0.1, -30, 0), 2, 0, kit.channel, outputClips},
		busStage:      {stage("bus", -15, 10, 0.1, 0, chainBus), 3, 0, chain.Sum(kit.fader, kit.bus), outputClips},
		recorderStage: {stage("recorder", -12, 12, 0.1, 0, chainRecorder), 4, 0, kit.converter, kit.full},
	}
}

// setAims sets the aims of the controls that are free to the best setting: the
// highest signal-to-noise ratio at the target with 6 dB of headroom everywhere. By
// Friis's formula that is to amplify as early as headroom allows, and to leave the
// rest to the last control.
func (x chainRule) setAims(stages []Stage) {
	last := 0
	for i, s := range stages {
		if !s.Fixed {
			last = i
		}
	}
	at := x.source
	for i := range stages {
		s := &stages[i]
		most := s.ClipDBu - chainBest - x.peaks // level behind it
		switch {
		case s.Fixed:
		case i == last:
			s.Aim = s.Settle(x.target - at - s.HiddenDB)
		default:
			s.Aim = s.Settle(floorTo(most-at-s.HiddenDB, s.Step))
		}
		at += s.Aim + s.HiddenDB
	}
}

// floorTo is the highest step that is not above a level.
func floorTo(db, step float64) float64 { return math.Floor(db/step+1e-9) * step }

// nodes are those behind the stages at settings of theirs.
func (x chainRule) nodes(e *Exercise, setting func(stage int) float64) []chain.Node {
	var all []chain.Stage
	for i, s := range e.Stages {
		gain := setting(i) + s.HiddenDB
		switch i {
		case padStage:
			all = append(all, chain.Pad(-gain, x.thermal, s.ClipDBu))
		case preampStage: // whose noise is measured with the microphone's
			all = append(all, chain.Stage{GainDB: gain, NoiseDBu: chain.Less(s.NoiseDBu, x.thermal), ClipDBu: s.ClipDBu})
		default:
			all = append(all, chain.Stage{GainDB: gain, NoiseDBu: s.NoiseDBu, ClipDBu: s.ClipDBu})
		}
	}
	return chain.Run(x.source, x.peaks, x.thermal, all)
}

// best are the nodes of the best setting.
func (x chainRule) best(e *Exercise) []chain.Node {
	return x.nodes(e, func(i int) float64 { return e.Stages[i].Aim })
}

// taken are those of a take.
func (x chainRule) taken(e *Exercise, t Take) []chain.Node {
	return x.nodes(e, func(i int) float64 { return e.Setting(t, len(e.Channels)+i) })
}

// Levels returns the level diagram of a take and that of the best setting: a node
// for the source, which clips nowhere, and one behind each stage. They are nil
// where there is no chain.
func (e *Exercise) Levels(t Take) (taken, best []chain.Node) {
	x, ok := e.rule.(chainRule)
	if !ok {
		return nil, nil
	}
	source := chain.Node{LevelDBu: x.source, PeakDBu: x.source + x.peaks, NoiseDBu: x.thermal, ClipDBu: math.Inf(1)}
	return append([]chain.Node{source}, x.taken(e, e.cut(t))...), append([]chain.Node{source}, x.best(e)...)
}

// dBFS is a level in dBu as the recorder has it: 0 VU, its reference, is +4 dBu.
func (e *Exercise) dBFS(dbu float64) float64 { return dbu - vuDBu + e.Rig.ReferenceDBFS }

// verdict: right if the recorder gets its level, within the tolerance, with a
// signal-to-noise ratio at most 2 dB below the best and 3 dB of headroom at every
// stage. What clips is worth nothing; else the points halve with every 2 dB of
// headroom that are missing, every 4 dB of ratio, and by Points for the level.
func (x chainRule) verdict(e *Exercise, t Take) (Verdict, error) {
	taken, best := x.taken(e, t), x.best(e)
	end := taken[recorderStage]
	tight := 0 // the stage with the least headroom or, if some clip, the first that does
	for i, n := range taken {
		if n.HeadroomDB() < taken[tight].HeadroomDB() && step(taken[tight].HeadroomDB()) >= 0 {
			tight = i
		}
	}
	room := taken[tight].HeadroomDB()
	off := step(end.LevelDBu - x.target)
	v := Verdict{
		DecidedBy: ByNeedle, UnderReadDB: x.peaks, ReadingVU: end.LevelDBu - vuDBu, AimVU: x.target - vuDBu,
		HeadroomDB: room, SNRDB: end.SNR(), LossDB: step(best[recorderStage].SNR() - end.SNR()),
		ErrorDB: off, Part: e.Stages[tight].Label,
	}
	cause := tight
	missing := max(step(chainRoom-room), 0)
	lost := max(step(v.LossDB-chainLoss), 0)
	out := outside(off, [2]float64{-e.Rig.ToleranceDB, e.Rig.ToleranceDB})
	v.InWindow = missing == 0 && lost == 0 && out == 0
	v.Points = int(math.Round(float64(Points(missing, step(room) < 0)*Points(-lost, false)*Points(out, false)) / 10000))
	switch {
	case v.InWindow && v.LossDB < 0:
		v.Code = codeChainAbove
	case v.InWindow:
		v.Code = codeChainIn
	case step(room) < 0:
		v.Code, v.ErrorDB, v.DecidedBy = codeChainClipped, step(chainBest-room), ByPeaks
		if tight == padStage && e.Stages[padStage].Aim < 0 {
			v.Code = codeChainNoPad
		}
	case missing > 0:
		v.Code, v.ErrorDB, v.DecidedBy = codeChainTight, step(chainBest-room), ByPeaks
	case lost > 0:
		cause = x.hissed(e, &v, taken, best)
	default:
		v.Code = sided(codeChainIn, codeChainHot, codeChainCold, v)
		cause = recorderStage
		v.Part = e.Stages[cause].Label
	}
	v.FaderDB, v.AimDB = e.Setting(t, len(e.Channels)+cause), e.Stages[cause].Aim
	return v, nil
}

// hissed completes the verdict on a take whose noise is too high, and returns the
// stage that is to blame: the first behind which the signal is lower than in the
// best setting, by more than a decibel. MadeUp is the stage behind it that gives the
// most more than in the best, if at the end no more than a third is missing, and 6 dB.
func (x chainRule) hissed(e *Exercise, v *Verdict, taken, best []chain.Node) (cause int) {
	short := func(i int) float64 { return best[i].LevelDBu - taken[i].LevelDBu }
	for cause < recorderStage && short(cause) <= 1 {
		cause++
	}
	madeUp := step(short(recorderStage)) <= min(short(cause)/3, chainMadeUp)
	v.Part, v.ErrorDB = e.Stages[cause].Label, -step(short(cause))
	most := 1.0
	for i := cause + 1; i < len(taken) && madeUp; i++ {
		if more := short(i-1) - short(i); more > most {
			v.MadeUp, most = e.Stages[i].Label, more
		}
	}
	switch {
	case cause == padStage && v.MadeUp != "":
		v.Code = codeChainPad
	case v.MadeUp != "":
		v.Code = codeChainHiss
	default:
		v.Code = codeChainLow
	}
	return cause
}

func (chainRule) figures(e *Exercise, v Verdict) []Figure {
	room := headroomFigure(v)
	room.Tone = toned(step(v.HeadroomDB) >= chainRoom)
	return []Figure{
		{Name: said.New("figure.noise", "S/N"), Value: v.SNRDB, Unit: UnitDB, Decimals: 1},
		{Name: said.New("figure.loss", "below the best"), Value: v.LossDB, Unit: UnitDB, Decimals: 1, Tone: toned(v.LossDB <= chainLoss)},
		room,
		{Name: said.New("figure.end", "at the recorder"), Value: v.ReadingVU, Unit: UnitVU, Signed: true, Decimals: 1},
		askedFigure(v), underFigure(v),
	}
}

// HissRaisedDB is by how many dB the noise of a chain is raised where settings are
// compared by ear: at a level that is safe nobody would hear what lies 70 dB down.
const HissRaisedDB = 30
