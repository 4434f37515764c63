package words

import (
	"fmt"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
)

// SheetWords describes in a line what a sheet asks for.
func (w *Speech) SheetWords(n sheet.Sheet) string {
	if n.Form != "" {
		line := w.Say("sheet.line_form", string(n.Form), n.Rounds)
		if n.Recorded {
			line += " · " + w.Say("sheet.line_recorded")
		}
		return line
	}
	parts := []string{w.DrillName(n.Drill), w.Say("sheet.line_rounds", n.Rounds), w.Say("sheet.line_level", n.Level)}
	if n.Exam {
		parts = append([]string{w.Say("sheet.line_exam")}, parts...)
	}
	if n.Recorded {
		parts = append(parts, w.Say("sheet.line_recorded"))
	}
	add := func(text string) { parts = append(parts, text) }
	if len(n.Families) > 0 {
		add(w.FamilyWords(n.Families))
	}
	switch r := n.Rig; {
	case r == nil:
	case *r == drills.DigitalRig():
		add(w.Say("sheet.line_rig", w.Say("rig.digital")))
	case *r == drills.TapeRig():
		add(w.Say("sheet.line_rig", w.Say("rig.tape")))
	default:
		add(w.RigTitle(*r) + ": " + w.RigLine(*r))
	}
	if n.ToleranceDB > 0 {
		add(w.Say("sheet.line_within", w.Number(n.ToleranceDB, 1)))
	}
	switch {
	case n.Time == sheet.NoLimit:
		add(w.Say("sheet.line_no_limit"))
	case n.Time > 0:
		add(w.Say("sheet.line_time", int(n.Time)))
	}
	switch {
	case n.Cover == sheet.Never:
		add(w.Say("sheet.line_in_sight"))
	case n.Cover == sheet.Always:
		add(w.Say("sheet.line_covered"))
	case n.Cover > 0:
		add(w.Say("sheet.line_cover", int(n.Cover)))
	}
	return strings.Join(parts, " · ")
}

// RigTitle names a rig by its medium.
func (w *Speech) RigTitle(r drills.Rig) string {
	if r.Soft() {
		return w.Say("rig.tape_title")
	}
	return w.Say("rig.digital_title")
}

// RigLine is a rig's line-up in one line.
func (w *Speech) RigLine(r drills.Rig) string {
	line := w.Say("rig.line_reference", w.Short(r.ReferenceDBFS))
	switch {
	case r.Soft():
		line += " · " + w.Say("rig.line_lamp_vu", w.ShortSigned(r.LampDBFS-r.ReferenceDBFS))
	case r.LampDBFS < r.CeilingDBFS: // the lamp comes first
		line += " · " + w.Say("rig.line_ceiling", w.Short(r.LampDBFS), w.Short(r.CeilingDBFS))
	default:
		line += " · " + w.Say("rig.line_lamp_ceiling", w.Short(r.CeilingDBFS))
	}
	if r.TargetVU != 0 {
		line += " · " + w.Say("rig.line_target", w.ShortSigned(r.TargetVU))
	}
	return line
}

// LampName is what stands under the lamp.
func (w *Speech) LampName(r drills.Rig, narrow bool) string {
	if r.Soft() {
		return w.Say("lamp.name_vu", w.ShortSigned(r.LampDBFS-r.ReferenceDBFS))
	}
	if narrow { // the head of the screen says in what
		return w.Say("lamp.name_narrow", w.Short(r.LampDBFS))
	}
	return w.Say("lamp.name", w.Short(r.LampDBFS))
}

// DrillName is a drill's title in the interface's words.
func (w *Speech) DrillName(id string) string { return w.Say("drill." + id) }

// Explain is what a drill introduces itself with.
func (w *Speech) Explain(drill string) string {
	return w.Say("explain." + strings.ReplaceAll(drill, "-", "_"))
}

// Seconds writes a duration in the interface's words.
func (w *Speech) Seconds(s float64) string {
	if s < 60 {
		return w.Say("unit.s", w.Short(s))
	}
	return w.Say("unit.min_s", int(s)/60, int(s)%60)
}

// FamilyWords names families; none stands for all.
func (w *Speech) FamilyWords(list []source.Family) string {
	if len(list) == 0 {
		return w.Say("sheet.all")
	}
	var names []string
	for _, f := range list {
		names = append(names, w.Say("family."+string(f)))
	}
	return strings.Join(names, ", ")
}

// ReasonFor gives in one sentence why an advice is given.
func (w *Speech) ReasonFor(a progress.Advice) string {
	family := w.Say("family." + string(a.Family))
	switch a.Code {
	case progress.TooHot, progress.TooCold, progress.Uneven:
		return w.Say("advice."+string(a.Code), family, w.Number(a.DB, 1))
	case progress.Rusty:
		return w.Say("advice.rusty", family, a.Days)
	case progress.Unknown:
		if a.Takes == 0 {
			return w.Say("advice.untried", family)
		}
		return w.Say("advice.unknown", a.Takes, family)
	case progress.Missed:
		return w.Say("advice.missed", w.Number(100*a.Share, 0))
	case progress.Onward:
		return w.Say("advice.onward", a.Level, family)
	}
	return w.Say("advice.begin")
}

// Habit tells in one sentence of a habit in practice, or that there is none.
func (w *Speech) Habit(h plan.Habit) string {
	family := w.Say("family." + string(h.Family))
	switch {
	case h.DB > 0:
		return w.Say("practice.hot", family, h.Times, w.Number(h.DB, 1))
	case h.DB < 0:
		return w.Say("practice.cold", family, h.Times, w.Number(-h.DB, 1))
	}
	return w.Say("practice.no_habit")
}

// Estimates compares what the learner thought to be off with what they were; empty if
// they were not asked.
func (w *Speech) Estimates(e plan.Estimates) string {
	if e.Rounds == 0 {
		return ""
	}
	text := w.Say("summary.estimate", w.Number(e.OffDB, 1))
	const clear = 0.5 // dB, as of a bias
	switch {
	case e.LeanDB >= clear:
		text += " " + w.Say("summary.estimate_hot", w.Number(e.LeanDB, 1))
	case e.LeanDB <= -clear:
		text += " " + w.Say("summary.estimate_cold", w.Number(-e.LeanDB, 1))
	}
	return text
}

// Remark tells in one sentence of the newest takes of a drill and family.
func (w *Speech) Remark(r progress.Remark) string {
	args := []any{w.Say("family." + string(r.Key.Family)), r.Takes}
	if r.DB > 0 {
		args = append(args, w.Number(r.DB, 1))
	}
	return w.Say("remark."+string(r.Code), args...)
}

// StepNote is the step of a drill and family, and where the ladder has settled.
func (w *Speech) StepNote(m progress.Mastery) string {
	if m.Settled {
		return w.Say("progress.settled", m.Step, w.Number(m.SettledAt, 1))
	}
	return w.Say("progress.step", m.Step)
}

// TrendNote is how the size of the error changes, with its interval; empty with too few
// takes.
func (w *Speech) TrendNote(sum progress.Summary) string {
	t, perWeek := sum.Trend()
	if !t.OK {
		return ""
	}
	key := "progress.trend_takes"
	if perWeek {
		key = "progress.trend_week"
	}
	text := w.Say(key, w.Signed(t.Value, 2), w.Signed(t.Lo, 2), w.Signed(t.Hi, 2))
	if !t.Excludes(0) {
		text = w.Say("progress.no_trend", text)
	}
	return text
}

// StreakNote is how many days of practice come one after the other; empty if never two.
func (w *Speech) StreakNote(now, best int) string {
	switch {
	case best < 2:
		return ""
	case now < 2:
		return w.Say("progress.best_streak", best)
	}
	return w.Say("progress.streak", now, best)
}

// BiasNote is a mean error in figures, or how many takes are missing.
func (w *Speech) BiasNote(sum progress.Summary) string {
	switch {
	case sum.Errors == 0 && sum.Takes > 0:
		return w.Say("progress.no_errors", sum.Takes)
	case !sum.BiasDB.OK:
		return w.Say("progress.too_few", sum.Errors, progress.MinTakes)
	}
	return w.Say("progress.numbers", sum.Errors, w.Signed(sum.BiasDB.Value, 1), w.Number(sum.SpreadDB.Value, 1))
}

// VerdictWords are the sentences of verdicts in the interface's language.
// English ones are the drills' own.
func (w *Speech) VerdictWords() drills.Words {
	all := drills.Words{}
	for k, english := range drills.English {
		all[k] = english
		if own, ok := w.Words[VerdictKey(k)]; ok {
			all[k] = own
		}
	}
	return all
}

// VerdictKey is where a language's file keeps a verdict's sentence.
func VerdictKey(k string) string { return "verdict.word." + k }

// Kind is what the source is inside its family, word by word in the
// interface's language as far as that has the words.
func (w *Speech) Kind(kind string) string {
	parts := strings.Split(kind, ", ")
	for i, p := range parts {
		if own, ok := w.Words["kind."+p]; ok {
			parts[i] = own
		}
	}
	return strings.Join(parts, ", ")
}

// Part is the label of a channel in words.
func (w *Speech) Part(label string) string { return w.VerdictWords().Part(label) }

// Figure writes the value of a verdict's figure with its unit.
func (w *Speech) Figure(f drills.Figure) string {
	n := w.Number(f.Value, f.Decimals)
	if f.Signed {
		n = w.Signed(f.Value, f.Decimals)
	}
	switch {
	case f.Text.Code != "":
		return w.Put(f.Text)
	case f.Unit == drills.UnitNone:
		return n
	case f.Unit == drills.UnitSeconds:
		return w.Seconds(f.Value)
	case f.Unit == drills.UnitSamples:
		return w.Say("verdict.samples", int64(f.Value))
	}
	return w.Say("unit."+string(f.Unit), n)
}

// Helped are the screens that have help, with how many paragraphs of it.
var Helped = map[string]int{
	"home": 4, "round": 4, "verdict": 4, "settings": 4, "recordings": 2, "listen": 4, "progress": 4, "sheet": 4,
	"summary": 2, "testform": 2, "estimate": 1, "join": 3, "handin": 3, "classroom": 2, "cautions": 1, "tour": 1,
}

// HelpParts are the keys of a screen's help.
func HelpParts(screen string) []string {
	var all []string
	for i := range Helped[screen] {
		all = append(all, fmt.Sprintf("help.%s.%d", screen, i+1))
	}
	return all
}
