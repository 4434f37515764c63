package game

import "strings"

// task says what an exercise asks for.
func (g *Game) task(j *job) string {
	if j.ex != nil {
		return g.put(j.ex.Task)
	}
	target := g.shortSigned(j.rig().TargetVU)
	if j.rig().Soft() {
		return g.say("card.tape", target)
	}
	return g.say("card.digital", target)
}

// solution says in a sentence what would have been right, if that can be said.
func (g *Game) solution(j *job) string {
	if j.ex == nil {
		return ""
	}
	return g.put(j.ex.Solution)
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
