package words

import (
	"fmt"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
)

// SheetWords describes in a line what a sheet asks for.
func (g *Speech) SheetWords(n sheet.Sheet) string {
	parts := []string{g.DrillName(n.Drill), g.Say("sheet.line_rounds", n.Rounds), g.Say("sheet.line_level", n.Level)}
	add := func(text string) { parts = append(parts, text) }
	if len(n.Families) > 0 {
		add(g.FamilyWords(n.Families))
	}
	switch r := n.Rig; {
	case r == nil:
	case *r == drills.DigitalRig():
		add(g.Say("sheet.line_rig", g.Say("rig.digital")))
	case *r == drills.TapeRig():
		add(g.Say("sheet.line_rig", g.Say("rig.tape")))
	default:
		add(g.RigTitle(*r) + ": " + g.RigLine(*r))
	}
	if n.ToleranceDB > 0 {
		add(g.Say("sheet.line_within", g.Number(n.ToleranceDB, 1)))
	}
	switch {
	case n.Time == sheet.NoLimit:
		add(g.Say("sheet.line_no_limit"))
	case n.Time > 0:
		add(g.Say("sheet.line_time", int(n.Time)))
	}
	switch {
	case n.Cover == sheet.Never:
		add(g.Say("sheet.line_in_sight"))
	case n.Cover == sheet.Always:
		add(g.Say("sheet.line_covered"))
	case n.Cover > 0:
		add(g.Say("sheet.line_cover", int(n.Cover)))
	}
	return strings.Join(parts, " · ")
}

// RigTitle names a rig by its medium.
func (g *Speech) RigTitle(r drills.Rig) string {
	if r.Soft() {
		return g.Say("rig.tape_title")
	}
	return g.Say("rig.digital_title")
}

// RigLine is a rig's line-up in one line.
func (g *Speech) RigLine(r drills.Rig) string {
	line := g.Say("rig.line_reference", g.Short(r.ReferenceDBFS))
	switch {
	case r.Soft():
		line += " · " + g.Say("rig.line_lamp_vu", g.ShortSigned(r.LampDBFS-r.ReferenceDBFS))
	case r.LampDBFS < r.CeilingDBFS: // the lamp comes first
		line += " · " + g.Say("rig.line_ceiling", g.Short(r.LampDBFS), g.Short(r.CeilingDBFS))
	default:
		line += " · " + g.Say("rig.line_lamp_ceiling", g.Short(r.CeilingDBFS))
	}
	if r.TargetVU != 0 {
		line += " · " + g.Say("rig.line_target", g.ShortSigned(r.TargetVU))
	}
	return line
}

// LampName is what stands under the lamp.
func (g *Speech) LampName(r drills.Rig, narrow bool) string {
	if r.Soft() {
		return g.Say("lamp.name_vu", g.ShortSigned(r.LampDBFS-r.ReferenceDBFS))
	}
	if narrow { // the head of the screen says in what
		return g.Say("lamp.name_narrow", g.Short(r.LampDBFS))
	}
	return g.Say("lamp.name", g.Short(r.LampDBFS))
}

// DrillName is a drill's title in the interface's words.
func (g *Speech) DrillName(id string) string { return g.Say("drill." + id) }

// Explain is what a drill introduces itself with.
func (g *Speech) Explain(drill string) string {
	return g.Say("explain." + strings.ReplaceAll(drill, "-", "_"))
}

// Seconds writes a duration in the interface's words.
func (g *Speech) Seconds(s float64) string {
	if s < 60 {
		return g.Say("unit.s", g.Short(s))
	}
	return g.Say("unit.min_s", int(s)/60, int(s)%60)
}

// FamilyWords names families; none stands for all.
func (g *Speech) FamilyWords(list []source.Family) string {
	if len(list) == 0 {
		return g.Say("sheet.all")
	}
	var names []string
	for _, f := range list {
		names = append(names, g.Say("family."+string(f)))
	}
	return strings.Join(names, ", ")
}

// ReasonFor gives in one sentence why an advice is given.
func (g *Speech) ReasonFor(a progress.Advice) string {
	family := g.Say("family." + string(a.Family))
	switch a.Code {
	case progress.TooHot, progress.TooCold, progress.Uneven:
		return g.Say("advice."+string(a.Code), family, g.Number(a.DB, 1))
	case progress.Rusty:
		return g.Say("advice.rusty", family, a.Days)
	case progress.Unknown:
		if a.Takes == 0 {
			return g.Say("advice.untried", family)
		}
		return g.Say("advice.unknown", a.Takes, family)
	case progress.Missed:
		return g.Say("advice.missed", g.Number(100*a.Share, 0))
	case progress.Onward:
		return g.Say("advice.onward", a.Level, family)
	}
	return g.Say("advice.begin")
}

// BiasNote is a mean error in figures, or how many takes are missing.
func (g *Speech) BiasNote(sum progress.Summary) string {
	if !sum.BiasDB.OK {
		return g.Say("progress.too_few", sum.Takes, progress.MinTakes)
	}
	return g.Say("progress.numbers", sum.Takes, g.Signed(sum.BiasDB.Value, 1), g.Number(sum.SpreadDB.Value, 1))
}

// VerdictWords are the sentences of verdicts in the interface's language.
// English ones are the drills' own.
func (g *Speech) VerdictWords() drills.Words {
	w := drills.Words{}
	for k, english := range drills.English {
		w[k] = english
		if own, ok := g.Words[VerdictKey(k)]; ok {
			w[k] = own
		}
	}
	return w
}

// VerdictKey is where a language's file keeps a verdict's sentence.
func VerdictKey(k string) string { return "verdict.word." + k }

// sideKey is the word of a channel that is named by its side.
func sideKey(label string) string { return "side." + label }

// Kind is what the source is inside its family, word by word in the
// interface's language as far as that has the words.
func (g *Speech) Kind(kind string) string {
	parts := strings.Split(kind, ", ")
	for i, p := range parts {
		if own, ok := g.Words["kind."+p]; ok {
			parts[i] = own
		}
	}
	return strings.Join(parts, ", ")
}

// Side is a channel's label, in words if it is named by its side.
func (g *Speech) Side(label string) string {
	if own, ok := g.Words[sideKey(label)]; ok {
		return own
	}
	return label
}

// Figure writes the value of a verdict's figure with its unit.
func (g *Speech) Figure(f drills.Figure) string {
	n := g.Number(f.Value, f.Decimals)
	if f.Signed {
		n = g.Signed(f.Value, f.Decimals)
	}
	switch {
	case f.Text.Code != "":
		return g.Put(f.Text)
	case f.Unit == drills.UnitNone:
		return n
	case f.Unit == drills.UnitSeconds:
		return g.Seconds(f.Value)
	case f.Unit == drills.UnitSamples:
		return g.Say("verdict.samples", int64(f.Value))
	}
	return g.Say("unit."+string(f.Unit), n)
}

// Helped are the screens that have help, with how many paragraphs of it.
var Helped = map[string]int{
	"home": 4, "round": 4, "verdict": 4, "settings": 4, "progress": 4, "sheet": 4,
	"join": 3, "handin": 3, "room": 2, "cautions": 1, "tour": 1,
}

// HelpParts are the keys of a screen's help.
func HelpParts(screen string) []string {
	var all []string
	for i := range Helped[screen] {
		all = append(all, fmt.Sprintf("help.%s.%d", screen, i+1))
	}
	return all
}
