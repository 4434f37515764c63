package drills

import (
	"fmt"
	"math"
	"strings"

	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// inMarks stands behind a reason as it is told on a programme meter.
const inMarks = "_marks"

// The reasons of its verdicts; {part} is the channel farthest off.
var (
	codeLineUpIn = reason("lineup_in", "The tone is at {reading} VU; the target was {asked} VU.").
			with(inMarks, "The programme meter reads {mark}; the target was {target}.")
	codeLineUpHot = reason("lineup_hot", "Lined up too high ({part}): the tone is at {reading} VU; the target was {asked} VU.").
			with(inMarks, "Lined up too high ({part}): the programme meter reads {mark}; the target was {target}.")
	codeLineUpCold = reason("lineup_cold", "Lined up too low ({part}): the tone is at {reading} VU; the target was {asked} VU.").
			with(inMarks, "Lined up too low ({part}): the programme meter reads {mark}; the target was {target}.")
)

// Levels of the ladder from which the line-up drill asks for more.
const (
	lineUpPair   = 4 // both channels to match
	lineUpOffset = 7 // a level that has to be worked out
)

// told is what is asked, and what was right.
type told struct{ task, solution said.Sentence }

// lineUpRule judges a tone on one or two faders.
type lineUpRule struct {
	marks told // on a programme meter; without a code if the target is off its scale
}

// What a line-up can ask for, in the order in which the levels reach it.
const (
	lineUpTone = iota
	lineUpMatch
	lineUpWorkOut
)

// makeLineUp draws the rig, unless one is asked for; which of the tasks the level has
// reached; the level asked for; and for each channel where on the fader its aim lies.
//
// A tone is lined up more closely than a take is set: the tolerance is a sixth
// of the level's, at least 0.1 dB.
func makeLineUp(f *draft) error {
	e := f.ex
	f.params.ToleranceDB = max(step(f.params.ToleranceDB/6), 0.1)
	e.Rig = f.rig()
	task := f.rng.IntN(1 + f.reached(lineUpPair, lineUpOffset))
	offset := float64(f.rng.IntN(10)) - 6 // -6 to +3 VU: on the scale
	inDBu := f.rng.IntN(2) == 1
	if task != lineUpWorkOut {
		offset = e.Rig.TargetVU
	}
	e.Rig.TargetVU = offset
	if err := e.Rig.Validate(); err != nil {
		return err
	}
	vu, marks := lineUpWords(task, inDBu, offset, e.Rig.ReferenceDBFS)
	e.Task, e.Solution = vu.task, vu.solution
	if at := meter.ProgrammeMark(offset); at < meter.FirstMark || at > meter.LastMark {
		marks = told{}
	}
	e.rule = lineUpRule{marks}
	const level = -12.0 // of the tone in its file, dBFS
	tone := source.LineUp(level)
	channel := func(label string, sides ...[]float32) {
		c := f.channel(label)
		c.Sound = &source.Sound{Family: source.Steady, Kind: tone.Kind, Channels: sides}
		c.StartGainDB = e.Rig.ReferenceDBFS + offset - level - c.AimDB
		e.Channels = append(e.Channels, c)
	}
	pair := task == lineUpMatch || task == lineUpWorkOut && f.level >= lineUpOffset+lineUpPair
	if pair {
		silence := make([]float32, tone.Len())
		channel("left", tone.Channels[0], silence)
		channel("right", silence, tone.Channels[0])
	} else {
		channel(onlyTone, tone.Channels...)
	}
	e.View = View{Stereo: pair, TargetCovered: task == lineUpWorkOut}
	return nil
}

// lineUpWords tell of a level in VU that a tone is to have, by the needle and by a
// programme meter, on a desk whose 0 VU is a reference in dBFS.
func lineUpWords(task int, inDBu bool, offset, reference float64) (vu, marks told) {
	at := mark(meter.ProgrammeMark(offset))
	switch {
	case task != lineUpWorkOut:
		vu.task = said.New("task.line_up", "Bring the tone to exactly %s VU.", brief(offset))
		vu.solution = said.New("solution.line_up", "A steady tone holds the needle still: set it exactly on the mark.")
		marks.task = said.New("task.marks", "Bring the tone to exactly mark %s of the programme meter.", at)
		marks.solution = said.New("solution.marks", "Mark 4 is 0 dBu, mark 6 is +8 dBu, and so 0 VU, +4 dBu, reads 5: here the tone belongs at %s.", at)
	case inDBu:
		vu.task = said.New("task.line_up_dbu", "0 VU is +4 dBu on this desk. The tone must leave it at %s dBu.", brief(4+offset))
		vu.solution = said.New("solution.line_up_dbu", "%s dBu, %.3f V, is %s dB relative to +4 dBu, so the needle reads %s VU.",
			brief(4+offset), meter.LineVolts(offset), brief(offset), brief(offset))
		marks.task = said.New("task.marks_dbu", "Mark 4 of the programme meter is 0 dBu. The tone must leave the desk at %s dBu.", brief(4+offset))
		marks.solution = said.New("solution.marks_dbu", "%s dBu at 4 dB a mark, with 4 for 0 dBu: the meter reads %s.", brief(4+offset), at)
	default:
		zero, asked := brief(reference), brief(reference+offset)
		vu.task = said.New("task.line_up_dbfs", "0 VU is %s dBFS on this desk. The tone must leave it at %s dBFS.", zero, asked)
		vu.solution = said.New("solution.line_up_dbfs", "%s dBFS is %s dB relative to %s dBFS, so the needle reads %s VU.", asked, brief(offset), zero, brief(offset))
		marks.task = said.New("task.marks_dbfs", "Mark 5 of the programme meter is %s dBFS on this desk. The tone must leave it at %s dBFS.", zero, asked)
		marks.solution = said.New("solution.marks_dbfs", "%s dBFS is %s dB relative to mark 5, and from mark to mark it is 4 dB: the meter reads %s.", asked, brief(offset), at)
	}
	if task == lineUpMatch {
		vu.task = said.New("task.line_up_pair", "Bring both channels of the tone to exactly %s VU, so that they match.", brief(offset))
		marks.task = said.New("task.marks_pair", "Bring both channels of the tone to exactly mark %s of the programme meter, so that they match.", at)
	}
	return vu, marks
}

// mark writes where a programme meter stands, 4 dB to a mark: quarters of it at most
// in what is asked, hundredths in what is read.
func mark(m float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", m), "0"), ".")
}

// InMarks is an exercise as it is told to someone who looks at the programme meter:
// task and solution in that meter's marks, where the drill asks for a reading.
func (e *Exercise) InMarks() (task, solution said.Sentence) {
	if x, ok := e.rule.(lineUpRule); ok && x.marks.task.Code != "" {
		return x.marks.task, x.marks.solution
	}
	return e.Task, e.Solution
}

// InMarks is a verdict as it is told to someone who looked at the programme meter.
func (v Verdict) InMarks() Verdict {
	switch v.Code {
	case codeLineUpIn, codeLineUpHot, codeLineUpCold:
		v.Code += inMarks
	}
	return v
}

func (lineUpRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := e.overall(t)
	v.DecidedBy = ByNeedle
	v.AimVU = e.Rig.TargetVU
	v.ReadingVU = e.Rig.TargetVU + v.FaderDB - v.AimDB
	v.HeadroomDB = math.Inf(1)
	for i, s := range e.Channels {
		peak := e.Rig.ReferenceDBFS + e.Rig.TargetVU + e.Setting(t, i) - s.AimDB
		v.HeadroomDB = min(v.HeadroomDB, e.Rig.CeilingDBFS-peak)
	}
	v.Code = sided(codeLineUpIn, codeLineUpHot, codeLineUpCold, v)
	return v, nil
}

func (lineUpRule) figures(e *Exercise, v Verdict) []Figure {
	list := []Figure{errorFigure(v)}
	if len(e.Channels) < 2 {
		list = append(list, aimFigure(v))
	}
	if strings.HasSuffix(string(v.Code), inMarks) {
		return append(list, Figure{Name: said.New("figure.aim_mark", "target mark"), Value: meter.ProgrammeMark(v.AimVU), Decimals: 2}, markFigure(v))
	}
	return append(list, askedFigure(v), needleFigure(v))
}
