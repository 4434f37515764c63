package game

import (
	"strings"

	"slowneedle/drills"
)

// native says whether the drills' own sentences, which are English, are those
// of the interface.
func (g *Game) native() bool { return g.set.Language == "en" }

// task says what an exercise asks for.
func (g *Game) task(j *job) string {
	rig := j.rig()
	if j.ex == nil {
		if rig.Soft() {
			return g.say("card.tape", g.shortSigned(rig.TargetVU))
		}
		return g.say("card.digital", g.shortSigned(rig.TargetVU))
	}
	if g.native() {
		return j.ex.Task
	}
	target := g.shortSigned(rig.TargetVU)
	switch v := j.view(); j.drill() {
	case drills.LineUp:
		switch {
		case v.TargetCovered:
			return g.say("task.line_up_dbfs", g.short(rig.ReferenceDBFS), g.short(rig.ReferenceDBFS+rig.TargetVU))
		case v.Stereo:
			return g.say("task.line_up_pair", target)
		}
		return g.say("task.line_up", target)
	case drills.LampCount:
		return g.say("task.lamp")
	case drills.CallUnder:
		return g.say("task.call")
	case drills.MatchEar:
		return g.say("task.match")
	case drills.Ride:
		return g.say("task.ride", g.shortSigned(j.asked()))
	case drills.WholeDesk:
		return g.say("task.desk", len(j.strips()), target, g.short(rig.CeilingDBFS))
	case drills.TrustIt:
		return g.say("task.trust", v.Needles)
	}
	if rig.Soft() {
		return g.say("task.take_tape")
	}
	return g.say("task.take")
}

// asked is the reading in VU that a right answer is judged against.
func (j *job) asked() float64 {
	v, err := j.judge(j.showMe())
	if err != nil {
		return j.rig().TargetVU
	}
	return v.AimVU
}

// solution says what would have been right, where the drill says it in the
// interface's language.
func (g *Game) solution(j *job) string {
	if g.native() {
		return j.solution()
	}
	return ""
}

// explain is what a drill introduces itself with.
func (g *Game) explain(drill string) string {
	return g.say("explain." + strings.ReplaceAll(drill, "-", "_"))
}
