package game

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/ladder"
	"slowneedle/game/words"
)

// draft is a sheet for a class that is being made.
type draft struct {
	sheet sheet.Sheet
	rig   string // one of the first screen's choices
}

func newDraft() *draft { return &draft{sheet: sheet.New(freshSeed()), rig: rigDrawn} }

func freshSeed() uint32 { return rand.Uint32N(sheet.MaxSeed + 1) }

// reseed draws other rounds for the sheet.
func (d *draft) reseed() { d.sheet.Seed = freshSeed() }

// draftRow is one thing of a sheet to be set; without a step the drill decides.
type draftRow struct {
	key, value string // the name is "sheet.KEY"
	step       func(by int)
}

// What a sheet's time and cover go through, a step at a time.
var (
	sheetTimes  = []sheet.Time{0, 15, 20, 30, 45, 60, 90, 120, 180, sheet.MaxTime, sheet.NoLimit}
	sheetCovers = []sheet.Cover{0, sheet.Always, 2, 4, 6, 8, 10, 15, 20, sheet.MaxCover, sheet.Never}
)

// rows are all that can be set, in order; the families come last.
func (d *draft) rows(w *words.Speech) []draftRow {
	n := &d.sheet
	between := func(p *int, lo, hi int) func(int) {
		return func(by int) { *p = max(lo, min(hi, *p+by)) }
	}
	tolerance := func(by int) {
		n.ToleranceDB = math.Max(0, math.Min(sheet.MaxTolerance, math.Round(2*n.ToleranceDB+float64(by))/2))
	}
	return []draftRow{
		{"drill", w.DrillName(n.Drill), d.stepDrill},
		{"rounds", strconv.Itoa(n.Rounds), between(&n.Rounds, 1, sheet.MaxRounds)},
		{"level", strconv.Itoa(n.Level), between(&n.Level, ladder.Bottom, ladder.Top)},
		{"rig", w.Say("rig." + d.rig), func(by int) { d.rig = cycle(d.rigs(), d.rig, by) }},
		{"tolerance", d.toleranceValue(w), tolerance},
		d.timeRow(w),
		d.coverRow(w),
		{"seed", strconv.Itoa(int(n.Seed)), func(int) { d.reseed() }},
		{"families", w.FamilyWords(n.Families), d.stepFamilies},
	}
}

func (d *draft) toleranceValue(w *words.Speech) string {
	if d.sheet.ToleranceDB == 0 {
		return w.Say("sheet.by_level")
	}
	return "± " + w.Say("unit.db", w.Short(d.sheet.ToleranceDB))
}

func (d *draft) timeRow(w *words.Speech) draftRow {
	n := &d.sheet
	row := draftRow{"time", w.Say("sheet.by_level"), func(by int) { n.Time = cycle(sheetTimes, n.Time, by) }}
	switch {
	case !d.timed():
		row.value, row.step = w.Say("sheet.by_drill"), nil
	case n.Time == sheet.NoLimit:
		row.value = w.Say("sheet.no_limit")
	case n.Time > 0:
		row.value = w.Say("unit.s", strconv.Itoa(int(n.Time)))
	}
	return row
}

func (d *draft) coverRow(w *words.Speech) draftRow {
	n := &d.sheet
	row := draftRow{"cover", w.Say("sheet.by_level"), func(by int) { n.Cover = cycle(sheetCovers, n.Cover, by) }}
	switch {
	case !d.covers():
		row.value, row.step = w.Say("sheet.by_drill"), nil
	case n.Cover == sheet.Always:
		row.value = w.Say("sheet.always")
	case n.Cover == sheet.Never:
		row.value = w.Say("sheet.never")
	case n.Cover > 0:
		row.value = w.Say("sheet.after", int(n.Cover))
	}
	return row
}

// timed reports whether a sheet of the drill may limit the time.
func (d *draft) timed() bool { return !d.drill().FixedLength }

// covers reports whether a sheet of the drill may say when the needle is
// covered.
func (d *draft) covers() bool {
	return !d.drill().FixedCover
}

// rigs are those the drill is played on; the settings' own is a digital one.
func (d *draft) rigs() []string {
	if d.drill().TapeOnly {
		return []string{rigDrawn, rigTape}
	}
	return rigChoices
}

// families are the drill's, in teaching order.
func (d *draft) families() []source.Family {
	have := d.drill().Families
	return slices.DeleteFunc(source.Generated(), func(f source.Family) bool { return !slices.Contains(have, f) })
}

func (d *draft) drill() drills.Drill {
	drill, _ := drills.DrillByID(d.sheet.Drill)
	return drill
}

// stepDrill goes to another drill and lets go of what it does not have.
func (d *draft) stepDrill(by int) {
	var ids []string
	for _, drill := range drills.Drills() {
		ids = append(ids, drill.ID)
	}
	d.sheet.Drill = cycle(ids, d.sheet.Drill, by)
	all := d.families()
	d.sheet.Families = slices.DeleteFunc(slices.Clone(d.sheet.Families), func(f source.Family) bool { return !slices.Contains(all, f) })
	if !d.timed() {
		d.sheet.Time = 0
	}
	if !d.covers() {
		d.sheet.Cover = 0
	}
	if !slices.Contains(d.rigs(), d.rig) {
		d.rig = rigDrawn
	}
}

// stepFamilies goes from all families to one after the other.
func (d *draft) stepFamilies(by int) {
	all := append([]source.Family{""}, d.families()...)
	now := source.Family("")
	if len(d.sheet.Families) == 1 {
		now = d.sheet.Families[0]
	}
	d.sheet.Families = nil
	if f := cycle(all, now, by); f != "" && len(all) > 2 {
		d.sheet.Families = []source.Family{f}
	}
}

// toggle takes a family in or out; all of them and none are the same sheet.
func (d *draft) toggle(f source.Family) {
	all := d.families()
	if !slices.Contains(all, f) {
		return
	}
	has := d.sheet.Families
	if len(has) == 0 {
		has = all
	}
	d.sheet.Families = slices.DeleteFunc(all, func(o source.Family) bool { return slices.Contains(has, o) == (o == f) })
	if len(d.sheet.Families) == len(d.families()) {
		d.sheet.Families = nil
	}
}

// made is the sheet with its rig, and its class code. The error says what a
// class code cannot carry.
func (d *draft) made(set settings) (sheet.Sheet, string, error) {
	n := d.sheet
	n.Rig = set.rigOf(d.rig)
	if d.rig == rigMine && n.ToleranceDB > 0 { // the sheet's goes before the rig's
		n.Rig.ToleranceDB = n.ToleranceDB
	}
	n, err := n.Canonical()
	if err != nil {
		return n, "", err
	}
	code, err := n.Code()
	return n, code, err
}
