package game

import (
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
)

// job is an exercise that is played and judged.
type job struct {
	ex       *drills.Exercise
	settings drills.Settings // that it was made with
	number   int             // of the session or the series, from 1
	series   *series         // that it is a round of; nil: practice
	room     bool            // played to a room: nothing of it is kept
}

func (j *job) drill() string { return j.ex.Drill.ID }

func (j *job) family() source.Family { return j.ex.Family }

func (j *job) level() int { return j.ex.Level }

func (j *job) rig() drills.Rig { return j.ex.Rig }

func (j *job) view() drills.View { return j.ex.View }

func (j *job) ask() drills.Ask { return j.ex.Ask }

// seconds is the time allowed, 0 for as long as it takes.
func (j *job) seconds() float64 { return j.ex.Seconds }

func (j *job) strips() []drills.Strip { return j.ex.Strips }

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
	c := j.ex.Desk(set.MonitorDB)
	c.ChannelMeters = j.view().PerChannel
	if set.LessFlash {
		c.LampHold = reducedHold
	}
	return c
}

// parts are the verdicts fader by fader, where there are several.
func (j *job) parts(t drills.Take) []drills.Part {
	if p := j.ex.Parts(t); len(p) > 1 {
		return p
	}
	return nil
}

// hasScale reports whether one fader with an aim is all there is.
func (j *job) hasScale() bool {
	s, free := j.strips(), j.free()
	return len(free) == 1 && s[free[0]].Curve == nil
}
