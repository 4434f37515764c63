package game

import (
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/game/words"
)

// assignment is an exercise that is played and judged.
type assignment struct {
	*drills.Exercise
	settings drills.Settings // that it was made with
	number   int             // of the session or the series, from 1
	again    bool            // the one before was of the same drill
	series   *series         // that it is a round of; nil: practice
	// classroom is set if the round is played to a class: the teacher moves the
	// fader, and nothing of it is kept.
	classroom bool
}

// free are the strips whose faders are the learner's.
func (a *assignment) free() []int {
	var all []int
	for i, s := range a.Strips {
		if !s.Fixed {
			all = append(all, i)
		}
	}
	return all
}

// lampHold is how long the meter's lamp holds with reduced flashing, in seconds.
const lampHold = 0.3

func (a *assignment) deskConfig(set settings) desk.Config {
	c := a.Desk(set.MonitorDB)
	c.ChannelMeters = a.View.PerChannel
	if set.LessFlash {
		c.LampHold = lampHold
	}
	return c
}

// parts are the verdicts fader by fader, where there are several.
func (a *assignment) parts(t drills.Take) []drills.Part {
	if p := a.Parts(t); len(p) > 1 {
		return p
	}
	return nil
}

// hasScale reports whether one fader with an aim is all there is.
func (a *assignment) hasScale() bool {
	free := a.free()
	return len(free) == 1 && a.Strips[free[0]].Curve == nil
}

// rigLine is the rig's line-up, without the target where that is to be worked
// out.
func (a *assignment) rigLine(w *words.Speech) string {
	rig := a.Rig
	if a.View.TargetCovered {
		rig.TargetVU = 0
	}
	return w.RigLine(rig)
}

// where says which exercise it is, and of which kind its source is.
func (a *assignment) where(w *words.Speech, kind bool) string {
	family, k := w.Say("family."+string(a.Family)), a.kind(w)
	switch trust := a.View.Needles > 0; { // its sound is not always the drawn family's
	case trust && kind && k != "":
		family = k
	case trust:
		family = w.Say("family." + string(a.Strips[0].Sound.Family))
	case kind && k != "":
		family += ": " + k
	}
	switch {
	case a.series != nil:
		return w.Say("class.where", a.number, a.series.hand.Sheet.Rounds, family)
	case a.classroom:
		return w.Say("round.where_room", a.number, family)
	case a.Level > 0:
		return w.Say("round.where_level", a.number, family, a.Level)
	}
	return w.Say("round.where", a.number, family)
}

// kind is what the source is inside its family; several have none.
func (a *assignment) kind(w *words.Speech) string {
	if len(a.Strips) != 1 {
		return ""
	}
	kind := a.Strips[0].Sound.Kind
	if a.Family == source.Own {
		return kind // the name of a file
	}
	return w.Kind(kind)
}
