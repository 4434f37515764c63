package practice

import (
	"strconv"

	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/series"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// Assignment is an exercise that is played and judged.
type Assignment struct {
	*drills.Exercise
	Settings drills.Settings // that it was made with
	number   int             // of the session, the series or the practice, from 1
	of       int             // rounds of the practice or test form that it belongs to; 0: neither
	Again    bool            // the one before was of the same drill
	Series   *Series         // that it is a round of; nil: practice
	// Return is what it came back in from a real desk, Came what came back of it;
	// nil: it was set here.
	Return *Return
	Came   *series.JudgedRound
	// Heard is set if it came in at the line input, from a source of the learner's own.
	Heard *Heard
	// Form is the class code of the test form that it is a round of, where the
	// learner plays one alone; empty: none.
	Form string
	// classroom is set if the round is played to a class: the teacher moves the
	// fader, and nothing of it is kept.
	Classroom bool
	// NoVerdict is set if the next round follows without a word about this one, as
	// in an exam or a test form.
	NoVerdict bool
	drawn     *sheet.Drawn // which round of an exam it is
}

// Practised reports whether it is a round of a practice.
func (a *Assignment) Practised() bool { return a.of > 0 && a.Form == "" && a.Return == nil }

// countsAs names a round of a test form or an exam, of which nothing is told; empty for
// others, and where the whole of its length is judged.
func (a *Assignment) countsAs() string {
	switch {
	case a.Drill.FixedLength:
		return ""
	case a.Form != "":
		return a.Form + "/" + strconv.Itoa(a.number)
	case a.Series != nil && a.NoVerdict:
		return a.Series.Hand.ID + "/" + strconv.Itoa(a.number)
	}
	return ""
}

// Free are the controls that are the learner's: the faders of channels, or stages.
func (a *Assignment) Free() []int {
	var all []int
	for i, c := range a.Controls {
		if !c.Fixed {
			all = append(all, i)
		}
	}
	return all
}

// lampHold is how long the meter's lamp holds with reduced flashing, in seconds.
const lampHold = 0.3

// DeskConfig is the line-up that plays it, with the meters and the lamp that the
// settings ask for.
func (a *Assignment) DeskConfig(set store.Settings) desk.Config {
	c := a.Desk(set.MonitorDB)
	c.ChannelMeters = a.View.PerChannel
	if set.LessFlash {
		c.LampHold = lampHold
	}
	return c
}

// HasScale reports whether one fader with an aim is all there is.
func (a *Assignment) HasScale() bool {
	free := a.Free()
	return len(free) == 1 && len(a.Channels) > 0 && a.Channels[0].Curve == nil
}

// ByEar reports whether the answers are the channels themselves: there is no meter, and
// to hear one is to choose it.
func (a *Assignment) ByEar() bool { return a.View.OneAtATime && len(a.Ask.Choices) > 0 }

// RigTitle is the rig's name; there is none where nothing is metered.
func (a *Assignment) RigTitle(w *words.Speech) string {
	if a.ByEar() {
		return ""
	}
	return w.RigTitle(a.Rig)
}

// RigLine is the rig's line-up, without the target where that is to be worked
// out.
func (a *Assignment) RigLine(w *words.Speech) string {
	if a.ByEar() {
		return ""
	}
	rig := a.Rig
	if a.View.TargetCovered {
		rig.TargetVU = 0
	}
	return w.RigLine(rig)
}

// Where names which exercise it is, and of which kind its source is.
func (a *Assignment) Where(w *words.Speech, kind bool) string {
	family, k := w.Say("family."+string(a.Family)), a.kind(w)
	switch trust := a.View.Needles > 0; { // its sound is not always the drawn family's
	case trust && kind && k != "":
		family = k
	case trust:
		family = w.Say("family." + string(a.Channels[0].Sound.Family))
	case kind && k != "":
		family += ": " + k
	}
	if state := a.State(w); kind && state != "" {
		family += ", " + state
	}
	switch {
	case a.Heard != nil:
		return w.Say("live.where", heardSeconds)
	case a.Return != nil:
		return w.Say("desk.where", a.number, a.of, family)
	case a.Series != nil && a.Series.Exam():
		return w.Say("exam.where", a.number, a.Series.Hand.Sheet.Rounds, family)
	case a.Series != nil:
		return w.Say("class.where", a.number, a.Series.Hand.Sheet.Rounds, family)
	case a.Classroom:
		return w.Say("round.where_demo", a.number, family)
	case a.Form != "":
		return w.Say("form.where", a.number, a.of, family)
	case a.Practised():
		return w.Say("round.where_practice", a.number, a.of, family, a.Level)
	case a.Level > 0:
		return w.Say("round.where_level", a.number, family, a.Level)
	}
	return w.Say("round.where", a.number, family)
}

// State tells whether the sources are finished sound or as they come from the microphone;
// empty where that is not known, or of tones.
func (a *Assignment) State(w *words.Speech) string {
	raw, all := 0, 0
	for _, ch := range a.Channels {
		if f := ch.Sound.Family; f == source.Steady || f == source.Own {
			continue
		}
		if all++; ch.Sound.Raw {
			raw++
		}
	}
	switch {
	case all == 0:
		return ""
	case raw == all:
		return w.Say("sound.raw")
	case raw == 0:
		return w.Say("sound.finished")
	}
	return w.Say("sound.mixed", raw, len(a.Channels))
}

// kind is what the source is inside its family; several have none.
func (a *Assignment) kind(w *words.Speech) string {
	if len(a.Channels) != 1 {
		return ""
	}
	kind := a.Channels[0].Sound.Kind
	if a.Family == source.Own {
		return kind // the name of a file
	}
	return w.Kind(kind)
}
