package drills

import (
	"fmt"
	"math"
	"strings"

	"slowneedle/audio/desk"
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

// lineUpRule judges a tone on one or two faders.
type lineUpRule struct {
	task, solution said.Sentence // on a programme meter; without a code if the target is off its scale
}

// makeLineUp draws the rig, unless one is asked for; which of the tasks the level has reached; the level asked for; and for each
// channel where on the fader its aim lies.
//
// A tone is lined up more closely than a take is set: the tolerance is a sixth
// of the level's, at least 0.1 dB.
func makeLineUp(f *draft) error {
	e := f.ex
	rig := f.rig()
	rig.ToleranceDB = max(step(f.params.ToleranceDB/6), 0.1)
	e.ToleranceDB = rig.ToleranceDB
	tasks := 1
	if f.level >= lineUpPair {
		tasks++
	}
	if f.level >= lineUpOffset {
		tasks++
	}
	task := f.rng.IntN(tasks)
	offset := float64(f.rng.IntN(10)) - 6 // -6 to +3 VU: on the scale
	inDBu := f.rng.IntN(2) == 1
	if task < 2 {
		offset = rig.TargetVU
	}
	asked := meter.ProgrammeMark(offset)
	var marks lineUpRule
	pair := task == 1 || task == 2 && f.level >= lineUpOffset+lineUpPair
	switch {
	case task < 2:
		e.Task = said.New("task.line_up", "Bring the tone to exactly %s VU.", brief(offset))
		e.Solution = said.New("solution.line_up", "A steady tone holds the needle still: set it exactly on the mark.")
		marks.task = said.New("task.marks", "Bring the tone to exactly mark %s of the programme meter.", mark(asked))
		marks.solution = said.New("solution.marks", "Mark 4 is 0 dBu, mark 6 is +8 dBu, and so 0 VU, +4 dBu, reads 5: here the tone belongs at %s.", mark(asked))
	case inDBu:
		e.Task = said.New("task.line_up_dbu", "0 VU is +4 dBu on this desk. The tone must leave it at %s dBu.", brief(4+offset))
		e.Solution = said.New("solution.line_up_dbu", "%s dBu, %.3f V, is %s dB relative to +4 dBu, so the needle reads %s VU.",
			brief(4+offset), meter.LineVolts(offset), brief(offset), brief(offset))
		marks.task = said.New("task.marks_dbu", "Mark 4 of the programme meter is 0 dBu. The tone must leave the desk at %s dBu.", brief(4+offset))
		marks.solution = said.New("solution.marks_dbu", "%s dBu at 4 dB a mark, with 4 for 0 dBu: the meter reads %s.", brief(4+offset), mark(asked))
	default:
		e.Task = said.New("task.line_up_dbfs", "0 VU is %s dBFS on this desk. The tone must leave it at %s dBFS.",
			brief(rig.ReferenceDBFS), brief(rig.ReferenceDBFS+offset))
		e.Solution = said.New("solution.line_up_dbfs", "%s dBFS is %s dB relative to %s dBFS, so the needle reads %s VU.", brief(rig.ReferenceDBFS+offset),
			brief(offset), brief(rig.ReferenceDBFS), brief(offset))
		marks.task = said.New("task.marks_dbfs", "Mark 5 of the programme meter is %s dBFS on this desk. The tone must leave it at %s dBFS.",
			brief(rig.ReferenceDBFS), brief(rig.ReferenceDBFS+offset))
		marks.solution = said.New("solution.marks_dbfs", "%s dBFS is %s dB relative to mark 5, and from mark to mark it is 4 dB: the meter reads %s.",
			brief(rig.ReferenceDBFS+offset), brief(offset), mark(asked))
	}
	rig.TargetVU = offset
	if err := rig.Validate(); err != nil {
		return err
	}
	e.Rig = rig
	const level = -12.0 // of the tone in its file, dBFS
	tone := source.LineUp(level)
	channel := func(label string, sound *source.Sound) {
		aim := f.drawAim()
		e.Channels = append(e.Channels, Channel{Label: label, Sound: sound, FaderDB: desk.FaderMin,
			StartGainDB: rig.ReferenceDBFS + offset - level - aim,
			AimDB:       aim, WindowDB: [2]float64{aim - rig.ToleranceDB, aim + rig.ToleranceDB}})
	}
	if pair {
		if task == 1 {
			e.Task = said.New("task.line_up_pair", "Bring both channels of the tone to exactly %s VU, so that they match.", brief(offset))
			marks.task = said.New("task.marks_pair", "Bring both channels of the tone to exactly mark %s of the programme meter, so that they match.", mark(asked))
		}
		silence := make([]float32, tone.Len())
		channel("left", &source.Sound{Family: source.Steady, Kind: tone.Kind, Channels: [][]float32{tone.Channels[0], silence}})
		channel("right", &source.Sound{Family: source.Steady, Kind: tone.Kind, Channels: [][]float32{silence, tone.Channels[0]}})
	} else {
		channel(onlyTone, tone)
	}
	e.View.NeedleSeconds = 0
	e.View.Stereo = pair
	e.View.TargetCovered = task == 2
	if asked < meter.FirstMark || asked > meter.LastMark {
		marks.task, marks.solution = said.Sentence{}, said.Sentence{}
	}
	e.rule = marks
	return nil
}

// mark writes where a programme meter stands, 4 dB to a mark: quarters of it at most
// in what is asked, hundredths in what is read.
func mark(m float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", m), "0"), ".")
}

// InMarks is an exercise as it is told to someone who looks at the programme meter:
// task and solution in that meter's marks, where the drill asks for a reading.
func (e *Exercise) InMarks() (task, solution said.Sentence) {
	if x, ok := e.rule.(lineUpRule); ok && x.task.Code != "" {
		return x.task, x.solution
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
