package game

import (
	"strings"

	"slowneedle/audio/source"
)

// kind is what the source is inside its family, word by word in the
// interface's language as far as that has the words.
func (g *Game) kind(j *job) string {
	kind := j.kind()
	if j.family() == source.Own {
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
