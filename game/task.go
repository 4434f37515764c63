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

// solution says what would have been right; where the drill's own sentence is
// not in the interface's language, from what a right take is judged to be.
func (g *Game) solution(j *job) string {
	if g.native() || j.ex == nil {
		return j.solution()
	}
	rig, right := j.rig(), j.showMe()
	v, err := j.judge(right)
	if err != nil {
		return ""
	}
	switch j.drill() {
	case drills.LineUp:
		if !j.view().TargetCovered {
			return g.say("solution.line_up")
		}
		return g.say("solution.line_up_dbfs", g.short(rig.ReferenceDBFS+rig.TargetVU), g.shortSigned(rig.TargetVU), g.short(rig.ReferenceDBFS), g.shortSigned(rig.TargetVU))
	case drills.CallUnder:
		return g.say("solution.call", g.signed(v.ReadingVU, 1), g.number(v.ReadingVU+rig.ReferenceDBFS+v.UnderReadDB, 1), g.short(rig.ReferenceDBFS), g.number(v.UnderReadDB, 1))
	case drills.MatchEar:
		return g.say("solution.match")
	case drills.Ride:
		return g.say("solution.ride")
	case drills.WholeDesk:
		return g.say("solution.desk", len(j.strips()), g.shortSigned(rig.TargetVU), g.number(rig.CeilingDBFS-v.HeadroomDB, 1))
	case drills.TrustIt:
		return g.say("solution.trust", v.Part)
	}
	return ""
}

// kind is what the source is inside its family, word by word in the
// interface's language as far as that has the words.
func (g *Game) kind(j *job) string {
	kind := j.kind()
	if j.ex == nil {
		return kind // the name of a file
	}
	parts := strings.Split(kind, ", ")
	for i, p := range parts {
		if own, ok := g.words["kind."+p]; ok {
			parts[i] = own
		}
	}
	return strings.Join(parts, ", ")
}

// explain is what a drill introduces itself with.
func (g *Game) explain(drill string) string {
	return g.say("explain." + strings.ReplaceAll(drill, "-", "_"))
}
