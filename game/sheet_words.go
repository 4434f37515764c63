package game

import (
	"strings"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// sheetWords says in a line what a sheet asks for.
func (g *Game) sheetWords(n sheet.Sheet) string {
	parts := []string{g.drillName(n.Drill), g.say("sheet.line_rounds", n.Rounds), g.say("sheet.line_level", n.Level)}
	add := func(text string) { parts = append(parts, text) }
	if len(n.Families) > 0 {
		add(g.familyWords(n.Families))
	}
	switch r := n.Rig; {
	case r == nil:
	case *r == drills.DigitalRig():
		add(g.say("sheet.line_rig", g.say("rig.digital")))
	case *r == drills.TapeRig():
		add(g.say("sheet.line_rig", g.say("rig.tape")))
	default:
		add(g.rigTitle(*r) + ": " + g.rigLine(*r))
	}
	if n.ToleranceDB > 0 {
		add(g.say("sheet.line_within", g.number(n.ToleranceDB, 1)))
	}
	switch {
	case n.Time == sheet.NoLimit:
		add(g.say("sheet.line_no_limit"))
	case n.Time > 0:
		add(g.say("sheet.line_time", int(n.Time)))
	}
	switch {
	case n.Cover == sheet.Never:
		add(g.say("sheet.line_in_sight"))
	case n.Cover == sheet.Always:
		add(g.say("sheet.line_covered"))
	case n.Cover > 0:
		add(g.say("sheet.line_cover", int(n.Cover)))
	}
	return strings.Join(parts, " · ")
}
