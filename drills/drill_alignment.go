package drills

import (
	"math"

	"slowneedle/audio/chain"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts; {part} is the first step that was wrong.
var (
	codeAlignIn   = reason("align_in", "Every step was done in its order and reads what it should.").headed("In the window: lined up.")
	codeAlignHot  = reason("align_hot", "The first wrong step is the {part}: its needle is at {reading} VU, where it should read {asked} VU; {cost}.")
	codeAlignCold = reason("align_cold", "The first wrong step is the {part}: its needle is at {reading} VU, where it should read {asked} VU; {cost}.")
	// the needle at 0 VU where that is not what both sides call 0 VU
	codeAlignReference = reason("align_reference", "The {part} was set to 0 VU, as if both references were the same, where it should read {asked} VU; {cost}.")
	// moved again after {made}
	codeAlignOrder = reason("align_order", "The {part} was moved again after the {made} had been set, which comes after it: what was lined up there is no longer right, or only by luck.").headed("Out of order: {part}.")
)

// Levels of the ladder from which the alignment drill asks for more.
const (
	alignPlayback = 4  // playback of a reference tape as well
	alignTape     = 8  // of another reference than the machine's
	alignConsole  = 11 // a console whose mark is not 0 VU
	alignRecorder = 14 // a session that was lined up to another digital level
	alignPair     = 18 // two tracks of the recorder, out of balance
)

// fluxes are reference levels of tapes in nWb/m (common practice; 320 at 7½ and 15 in/s
// is IEC 60094-2's, 185 the oldest).
var fluxes = []int{185, 200, 250, 320}

// alignRule judges a line-up by its steps.
type alignRule struct {
	targets []float64 // VU, of each stage
	sources []float64 // level of each channel with all controls at 0 dB, VU
}

// alignStep is one step of the procedure: a stage, what is to be done there, and what
// its needle is to read.
type alignStep struct {
	label  string
	from   int // the control ahead of it
	task   said.Sentence
	target float64
}

// makeAlignment draws the rig, unless one is asked for; the reference tape and the
// machine's; which of the console's marks it is; the other digital level; and for each
// stage by how much it amplifies where its control stands at 0 dB.
//
// The needle reads 0 VU at +4 dBu. A tone is lined up as closely as in Line-up.
func makeAlignment(f *draft) error {
	e := f.ex
	f.params.ToleranceDB = max(step(f.params.ToleranceDB/6), 0.1)
	e.Rig = f.rig()
	e.Rig.TargetVU = 0
	steps := f.alignSteps(e.Rig.ReferenceDBFS)
	const level = -12.0 // of the tones in their files, dBFS
	x := alignRule{}
	for _, label := range []string{"oscillator", "tape"} {
		at := f.between(-12, -6)
		x.sources = append(x.sources, at)
		e.Channels = append(e.Channels, Channel{Label: label, Sound: source.LineUp(level), Fixed: true, StartGainDB: at + e.Rig.ReferenceDBFS - level})
	}
	tasks := []any{said.Sentence{}, said.Sentence{}, said.Sentence{}, said.Sentence{}}
	for i, s := range steps {
		hidden := f.between(-6, 6)
		aim := s.target - hidden // of what comes in
		if s.from < len(x.sources) {
			aim -= x.sources[s.from]
		} else {
			aim -= steps[s.from-len(x.sources)].target
		}
		e.Stages = append(e.Stages, Stage{Control: Control{Label: s.label, Unit: "dB", Min: -30, Max: 30, Step: 0.1, Start: -20, Aim: step(aim)},
			From: s.from, HiddenDB: hidden, NoiseDBu: math.Inf(-1), ClipDBu: math.Inf(1)})
		x.targets = append(x.targets, s.target)
		tasks[i] = s.task
	}
	e.Task = said.New("task.alignment", "%s %s %s %s", tasks...)
	e.Seconds *= float64(len(steps))
	e.View = View{PerChannel: true, OneAtATime: true, Procedure: true, LampCovered: true, TargetCovered: true}
	e.Solution = said.New("solution.alignment", "In the order of the signal, and nothing is touched again once what follows it has been set: the console reads %s VU, the recorder %s, the playback %s.",
		signed(x.targets[0], 1), signed(x.targets[1], 1), signed(x.targets[len(x.targets)-1], 1))
	if len(steps) == 2 {
		e.Solution = said.New("solution.alignment_two", "In the order of the signal, and the console is not touched again once the recorder has been set: both read %s VU.", signed(0, 1))
	}
	e.rule = x
	return nil
}

// alignSteps are the steps of the procedure, as far as the level has reached, of a recorder
// whose 0 VU is a reference in dBFS.
func (f *draft) alignSteps(reference float64) []alignStep {
	tape, machine := f.rng.IntN(len(fluxes)), f.rng.IntN(len(fluxes)-1)
	if machine >= tape {
		machine++
	}
	house, other := f.rng.IntN(2), float64(2*(1+f.rng.IntN(2)))
	if f.rng.IntN(2) == 1 {
		other = -other
	}
	steps := []alignStep{{"console", 0, said.New("align.console", "Oscillator on, and the console to 0 VU."), 0}}
	if f.level >= alignConsole && house == 0 {
		steps[0].task, steps[0].target = said.New("align.console_dbu", "Oscillator on, and the console to 0 dBu."), -vuDBu
	} else if f.level >= alignConsole {
		steps[0].task, steps[0].target = said.New("align.console_dbv", "Oscillator on, and the console to −10 dBV, which the recorder expects."), step(chain.Volts(-10)-vuDBu)
	}
	input := alignStep{"recorder", 2, said.New("align.recorder", "Then the recorder's input to 0 VU."), 0}
	if f.level >= alignRecorder {
		input.task, input.target = said.New("align.recorder_dbfs", "Then the recorder's input: its 0 VU is %s dBFS, and the session was lined up at %s dBFS.",
			brief(reference), brief(reference+other)), other
	}
	if f.level >= alignPair {
		left, right := input, input
		left.label, right.label = "left", "right"
		right.task = said.New("align.both", "Both tracks alike.")
		steps = append(steps, left, right)
	} else {
		steps = append(steps, input)
	}
	switch {
	case f.level >= alignTape:
		steps = append(steps, alignStep{"playback", 1, said.New("align.playback_flux", "Then play the reference tape of %d nWb/m on a machine whose 0 VU is %d nWb/m.", fluxes[tape], fluxes[machine]),
			step(chain.Ratio(float64(fluxes[tape]), float64(fluxes[machine])))})
	case f.level >= alignPlayback:
		steps = append(steps, alignStep{"playback", 1, said.New("align.playback", "Then play the reference tape, and the playback to 0 VU."), 0})
	}
	return steps
}

// reading is what the needle of a stage reads, in VU.
func (x alignRule) reading(e *Exercise, t Take, i int) float64 {
	s := e.Stages[i]
	v := e.Setting(t, len(e.Channels)+i) + s.HiddenDB
	if s.From < len(e.Channels) {
		return v + x.sources[s.From]
	}
	return v + x.reading(e, t, s.From-len(e.Channels))
}

// parts are the steps one by one: how far each reads from what it should.
func (x alignRule) parts(e *Exercise, t Take) []Part {
	var all []Part
	for i, s := range e.Stages {
		off := step(x.reading(e, t, i) - x.targets[i])
		out := outside(off, [2]float64{-e.Rig.ToleranceDB, e.Rig.ToleranceDB})
		at := e.Setting(t, len(e.Channels)+i)
		all = append(all, Part{Label: s.Label, FaderDB: at, AimDB: step(at - off), ErrorDB: off, InWindow: out == 0, Points: Points(out, false), TargetVU: x.targets[i]})
	}
	return all
}

// again returns the first stage that was moved again after one that it feeds, and that
// one. Two tracks, and the playback of a tape, do not hear each other.
func (x alignRule) again(e *Exercise, t Take) (stage, after int, moved bool) {
	last := make([]int, len(e.Stages))
	for n, m := range t.Moves {
		last[m.Control-len(e.Channels)] = n + 1
	}
	for i := range last {
		for k := i + 1; k < len(last); k++ {
			if e.Stages[k].From == len(e.Channels)+i && last[k] > 0 && last[i] > last[k] {
				return i, k, true
			}
		}
	}
	return 0, 0, false
}

// verdict: right if every stage reads what it should and none was moved again after
// one that it feeds. The first step that was wrong is named. The points are the
// steps' mean, halved for the order.
func (x alignRule) verdict(e *Exercise, t Take) (Verdict, error) {
	parts := x.parts(e, t)
	v := Verdict{DecidedBy: ByNeedle, InWindow: true, Code: codeAlignIn}
	sum := 0
	wrong := len(parts)
	for i, p := range parts {
		sum += p.Points
		if !p.InWindow && i < wrong {
			wrong = i
		}
	}
	v.Points = int(math.Round(float64(sum) / float64(len(parts))))
	stage, after, moved := x.again(e, t)
	first := min(wrong, len(parts)-1)
	if moved && stage <= first {
		first = stage
	}
	p := parts[first]
	v.Part, v.FaderDB, v.AimDB, v.ErrorDB = p.Label, p.FaderDB, p.AimDB, p.ErrorDB
	v.AimVU, v.ReadingVU = x.targets[first], x.targets[first]+p.ErrorDB
	switch {
	case moved && stage <= wrong:
		v.InWindow, v.Points, v.Code, v.MadeUp = false, v.Points/2, codeAlignOrder, e.Stages[after].Label
	case wrong < len(parts):
		v.InWindow = false
		v.Code = sided(codeAlignIn, codeAlignHot, codeAlignCold, v)
		if math.Abs(step(v.ReadingVU)) <= e.Rig.ToleranceDB {
			v.Code = codeAlignReference
		}
		v.LaterDB = later(parts, wrong)
	}
	return v, nil
}

// later is by how many dB takes that follow a line-up come out too hot for its first wrong
// step. A console at its mark sends what it should; if it had been set too high, what is
// behind it was set that much too low.
func later(parts []Part, wrong int) float64 {
	if wrong == 0 {
		return step(parts[1].ErrorDB - parts[0].ErrorDB)
	}
	return parts[wrong].ErrorDB
}

func (alignRule) figures(_ *Exercise, v Verdict) []Figure {
	return []Figure{errorFigure(v), askedFigure(v), needleFigure(v)}
}
