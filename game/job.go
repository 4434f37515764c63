package game

import (
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
)

// job is what is played and judged: an exercise of a drill, or a round on a
// recording of the learner's own.
type job struct {
	ex       *drills.Exercise
	own      *drills.Round
	settings drills.Settings // that it was made with
	number   int             // of the session or the series, from 1
	series   *series         // that it is a round of; nil: practice
	room     bool            // played to a room: nothing of it is kept
}

// ownDrill names rounds on recordings of the learner's own.
const ownDrill = "own"

func (j *job) drill() string {
	if j.ex != nil {
		return j.ex.Drill.ID
	}
	return ownDrill
}

func (j *job) family() source.Family {
	if j.ex != nil {
		return j.ex.Family
	}
	return source.Own
}

func (j *job) level() int {
	if j.ex != nil {
		return j.ex.Level
	}
	return 0
}

// round is the round that is played, or nil in a drill that is none.
func (j *job) round() *drills.Round {
	if j.ex == nil {
		return j.own
	}
	r, _ := j.ex.Round()
	return r
}

func (j *job) rig() drills.Rig {
	if j.ex != nil {
		return j.ex.Rig
	}
	return j.own.Rig
}

func (j *job) view() drills.View {
	if j.ex != nil {
		return j.ex.View
	}
	return drills.View{}
}

func (j *job) ask() drills.Ask {
	if j.ex != nil {
		return j.ex.Ask
	}
	return drills.Ask{}
}

// seconds is the time allowed, 0 for as long as it takes.
func (j *job) seconds() float64 {
	if j.ex != nil {
		return j.ex.Seconds
	}
	return 0
}

func (j *job) strips() []drills.Strip {
	if j.ex != nil {
		return j.ex.Strips
	}
	r := j.own
	return []drills.Strip{{Label: "A", Sound: r.Sound, StartGainDB: r.StartGainDB, FaderDB: desk.FaderMin, AimDB: r.AimDB, WindowDB: r.WindowDB}}
}

// free are the strips whose faders are the learner's.
func (j *job) free() []int {
	var all []int
	for i, s := range j.strips() {
		if !s.Fixed {
			all = append(all, i)
		}
	}
	return all
}

// kind is what the source is inside its family; several have none.
func (j *job) kind() string {
	if s := j.strips(); len(s) == 1 {
		return s[0].Sound.Kind
	}
	return ""
}

func (j *job) desk(set settings) desk.Config {
	var c desk.Config
	if j.ex != nil {
		c = j.ex.Desk(set.MonitorDB)
	} else {
		c = j.own.Desk(set.MonitorDB)
	}
	c.ChannelMeters = j.view().PerChannel
	if set.LessFlash {
		c.LampHold = reducedHold
	}
	return c
}

func (j *job) judge(t drills.Take) (drills.Verdict, error) {
	if j.ex != nil {
		return j.ex.Judge(t)
	}
	return drills.Judge(j.own, t)
}

// parts are the verdicts fader by fader, where there are several.
func (j *job) parts(t drills.Take) []drills.Part {
	if j.ex == nil {
		return nil
	}
	if p := j.ex.Parts(t); len(p) > 1 {
		return p
	}
	return nil
}

// hasScale says whether one fader with an aim is all there is.
func (j *job) hasScale() bool {
	s, free := j.strips(), j.free()
	return len(free) == 1 && s[free[0]].Curve == nil
}

// showMe is a take that demonstrates what is right.
func (j *job) showMe() drills.Take {
	if j.ex != nil {
		return j.ex.ShowMe()
	}
	return j.own.ShowMe()
}
