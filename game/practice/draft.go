package practice

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/ladder"
	"slowneedle/drills/testform"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// Draft is a sheet for a class that is being made. A Sheet with a Form is a test form of
// the set that its seed falls to; what else is set then waits for another drill.
type Draft struct {
	Sheet sheet.Sheet
	rig   string // one of the first screen's choices
}

// NewDraft is a sheet with everything as it usually is.
func NewDraft() *Draft { return &Draft{Sheet: sheet.New(freshSeed()), rig: store.RigDrawn} }

func freshSeed() uint32 { return rand.Uint32N(sheet.MaxSeed + 1) }

// Reseed draws other rounds for the sheet, of a test form those of another set.
func (d *Draft) Reseed() {
	if d.Sheet.Form == "" {
		d.Sheet.Seed = freshSeed()
		return
	}
	d.Sheet.Seed = (d.set() + 1 + rand.Uint32N(testform.Sets-1)) % testform.Sets
}

// draftRow is one thing of a sheet to be set; without a step the drill decides.
type draftRow struct {
	Key, Value string // the name is "sheet.KEY"
	Step       func(by int)
}

// What a sheet's time and cover go through, a step at a time.
var (
	sheetTimes  = []sheet.Time{0, 15, 20, 30, 45, 60, 90, 120, 180, sheet.MaxTime, sheet.NoLimit}
	sheetCovers = []sheet.Cover{0, sheet.Always, 2, 4, 6, 8, 10, 15, 20, sheet.MaxCover, sheet.Never}
)

// Rows are all that can be set, in order; the families come last.
func (d *Draft) Rows(w *words.Speech) []draftRow {
	n := &d.Sheet
	between := func(p *int, lo, hi int) func(int) {
		return func(by int) { *p = max(lo, min(hi, *p+by)) }
	}
	tolerance := func(by int) {
		n.ToleranceDB = math.Max(0, math.Min(sheet.MaxTolerance, math.Round(2*n.ToleranceDB+float64(by))/2))
	}
	rows := []draftRow{
		{"drill", w.DrillName(n.Drill), d.stepDrill},
		{"rounds", strconv.Itoa(n.Rounds), between(&n.Rounds, 1, sheet.MaxRounds)},
		{"level", strconv.Itoa(n.Level), between(&n.Level, ladder.Bottom, ladder.Top)},
		{"rig", w.Say("rig." + d.rig), func(by int) { d.rig = store.Cycle(d.rigs(), d.rig, by) }},
		{"tolerance", d.toleranceValue(w), tolerance},
		d.timeRow(w),
		d.coverRow(w),
		{"seed", strconv.Itoa(int(n.Seed)), func(int) { d.Reseed() }},
		{"families", w.FamilyWords(n.Families), d.stepFamilies},
	}
	if n.Form == "" {
		return rows
	}
	for i, row := range rows {
		switch row.Key {
		case "drill":
			rows[i].Value = w.Say("sheet.form", string(n.Form))
		case "seed":
			rows[i].Value = w.Say("sheet.set", d.set())
			rows[i].Step = func(by int) { n.Seed = (d.set() + uint32(by+testform.Sets)) % testform.Sets }
		default:
			rows[i].Value, rows[i].Step = w.Say("sheet.by_form"), nil
		}
	}
	return rows
}

// set is which set of test forms the seed falls to.
func (d *Draft) set() uint32 { return d.Sheet.Seed % testform.Sets }

func (d *Draft) toleranceValue(w *words.Speech) string {
	if d.Sheet.ToleranceDB == 0 {
		return w.Say("sheet.by_level")
	}
	return "± " + w.Say("unit.db", w.Short(d.Sheet.ToleranceDB))
}

func (d *Draft) timeRow(w *words.Speech) draftRow {
	n := &d.Sheet
	row := draftRow{"time", w.Say("sheet.by_level"), func(by int) { n.Time = store.Cycle(sheetTimes, n.Time, by) }}
	switch {
	case !d.timed():
		row.Value, row.Step = w.Say("sheet.by_drill"), nil
	case n.Time == sheet.NoLimit:
		row.Value = w.Say("sheet.no_limit")
	case n.Time > 0:
		row.Value = w.Say("unit.s", strconv.Itoa(int(n.Time)))
	}
	return row
}

func (d *Draft) coverRow(w *words.Speech) draftRow {
	n := &d.Sheet
	row := draftRow{"cover", w.Say("sheet.by_level"), func(by int) { n.Cover = store.Cycle(sheetCovers, n.Cover, by) }}
	switch {
	case !d.covers():
		row.Value, row.Step = w.Say("sheet.by_drill"), nil
	case n.Cover == sheet.Always:
		row.Value = w.Say("sheet.always")
	case n.Cover == sheet.Never:
		row.Value = w.Say("sheet.never")
	case n.Cover > 0:
		row.Value = w.Say("sheet.after", int(n.Cover))
	}
	return row
}

// timed reports whether a sheet of the drill may limit the time.
func (d *Draft) timed() bool { return !d.drill().FixedLength }

// covers reports whether a sheet of the drill may say when the needle is
// covered.
func (d *Draft) covers() bool {
	return !d.drill().FixedCover
}

// rigs are those the drill is played on; the settings' own is a digital one.
func (d *Draft) rigs() []string {
	if d.drill().TapeOnly {
		return []string{store.RigDrawn, store.RigTape}
	}
	return store.RigChoices
}

// Families are those to choose from, in teaching order: the drill's; in a test form
// there are none.
func (d *Draft) Families() []source.Family {
	if d.Sheet.Form != "" {
		return nil
	}
	have := d.drill().Families
	return slices.DeleteFunc(source.Generated(), func(f source.Family) bool { return !slices.Contains(have, f) })
}

func (d *Draft) drill() drills.Drill {
	drill, _ := drills.DrillByID(d.Sheet.Drill)
	return drill
}

// stepDrill goes to another drill and resets what that one does not have; after the
// last drill come the test forms.
func (d *Draft) stepDrill(by int) {
	type choice struct {
		drill string
		form  testform.Form
	}
	var all []choice
	for _, drill := range drills.Drills() {
		all = append(all, choice{drill: drill.ID})
	}
	for _, form := range testform.Forms {
		all = append(all, choice{form: form})
	}
	now := choice{d.Sheet.Drill, d.Sheet.Form}
	if now.form != "" {
		now.drill = ""
	}
	to := store.Cycle(all, now, by)
	if d.Sheet.Form = to.form; to.form != "" {
		return
	}
	d.Sheet.Drill = to.drill
	families := d.Families()
	d.Sheet.Families = slices.DeleteFunc(slices.Clone(d.Sheet.Families), func(f source.Family) bool { return !slices.Contains(families, f) })
	if !d.timed() {
		d.Sheet.Time = 0
	}
	if !d.covers() {
		d.Sheet.Cover = 0
	}
	if !slices.Contains(d.rigs(), d.rig) {
		d.rig = store.RigDrawn
	}
}

// stepFamilies goes from all families to one after the other.
func (d *Draft) stepFamilies(by int) {
	all := append([]source.Family{""}, d.Families()...)
	now := source.Family("")
	if len(d.Sheet.Families) == 1 {
		now = d.Sheet.Families[0]
	}
	d.Sheet.Families = nil
	if f := store.Cycle(all, now, by); f != "" && len(all) > 2 {
		d.Sheet.Families = []source.Family{f}
	}
}

// Toggle takes a family in or out; all of them and none are the same sheet.
func (d *Draft) Toggle(f source.Family) {
	all := d.Families()
	if !slices.Contains(all, f) {
		return
	}
	has := d.Sheet.Families
	if len(has) == 0 {
		has = all
	}
	d.Sheet.Families = slices.DeleteFunc(all, func(o source.Family) bool { return slices.Contains(has, o) == (o == f) })
	if len(d.Sheet.Families) == len(d.Families()) {
		d.Sheet.Families = nil
	}
}

// Made is the sheet with its rig, and its class code. The error names what a
// class code cannot carry.
func (d *Draft) Made(set store.Settings) (sheet.Sheet, string, error) {
	n := d.Sheet
	if n.Form != "" {
		n.Seed = d.set()
	}
	n.Rig = set.RigOf(d.rig)
	if d.rig == store.RigMine && n.ToleranceDB > 0 { // the sheet's goes before the rig's
		n.Rig.ToleranceDB = n.ToleranceDB
	}
	n, err := n.Canonical()
	if err != nil {
		return n, "", err
	}
	code, err := n.Code()
	return n, code, err
}
