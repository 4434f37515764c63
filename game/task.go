package game

import "strings"

// task says what an exercise asks for.
func (g *Game) task(j *job) string {
	if j.ex != nil {
		return j.ex.Task
	}
	hint := "card.digital"
	if j.rig().Soft() {
		hint = "card.tape"
	}
	return g.say(hint, g.shortSigned(j.rig().TargetVU))
}

// solution says what would have been right.
func (g *Game) solution(j *job) string {
	if t := j.solution(); t != "" {
		return t
	}
	return ""
}

// explain is the two lines a drill introduces itself with.
func (g *Game) explain(drill string) string {
	return g.say("explain." + strings.ReplaceAll(drill, "-", "_"))
}
