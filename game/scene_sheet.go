package game

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/ladder"
)

// sheetScene makes a sheet for a class and shows its class code, large enough to
// be copied to a whiteboard.
type sheetScene struct {
	n      sheet.Sheet
	rig    string // as the first screen names it
	at     int    // the chosen row
	second bool   // a phone on its side shows the second half of the rows
	told   string // what a probe knows
}

// openSheet goes to the sheet that is being made.
func openSheet(g *Game) {
	if g.draft == nil {
		g.draft = &sheetScene{n: sheet.New(freshSeed()), rig: rigDrawn}
	}
	g.show(g.draft)
}

func freshSeed() uint32 { return rand.Uint32N(sheet.MaxSeed + 1) }

func (*sheetScene) name() string { return "sheet" }

// sheetRow is one thing to be set; without a step the drill says it itself.
type sheetRow struct {
	id, name, value string
	step            func(by int)
}

// What a sheet's time and cover go through, a step at a time.
var (
	sheetTimes  = []sheet.Time{0, 15, 20, 30, 45, 60, 90, 120, 180, sheet.MaxTime, sheet.NoLimit}
	sheetCovers = []sheet.Cover{0, sheet.Always, 2, 4, 6, 8, 10, 15, 20, sheet.MaxCover, sheet.Never}
)

// another is the value by steps behind one of a list; past the end it begins anew.
func another[T comparable](all []T, now T, by int) T {
	return all[(slices.Index(all, now)+by+len(all))%len(all)]
}

func (s *sheetScene) rows(g *Game) []sheetRow {
	n := &s.n
	within := func(p *int, lo, hi int) func(int) {
		return func(by int) { *p = max(lo, min(hi, *p+by)) }
	}
	rows := []sheetRow{
		{"drill", g.Say("sheet.drill"), g.DrillName(n.Drill), func(by int) { s.setDrill(by) }},
		{"rounds", g.Say("sheet.rounds"), strconv.Itoa(n.Rounds), within(&n.Rounds, 1, sheet.MaxRounds)},
		{"level", g.Say("sheet.level"), strconv.Itoa(n.Level), within(&n.Level, ladder.Bottom, ladder.Top)},
		{"rig", g.Say("sheet.rig"), g.Say("rig." + s.rig), func(by int) { s.rig = another(s.rigs(), s.rig, by) }},
		{"tolerance", g.Say("sheet.tolerance"), g.Say("sheet.by_level"), func(by int) {
			n.ToleranceDB = math.Max(0, math.Min(sheet.MaxTolerance, math.Round(2*n.ToleranceDB+float64(by))/2))
		}},
		{"time", g.Say("sheet.time"), g.Say("sheet.by_level"), func(by int) { n.Time = another(sheetTimes, n.Time, by) }},
		{"cover", g.Say("sheet.cover"), g.Say("sheet.by_level"), func(by int) { n.Cover = another(sheetCovers, n.Cover, by) }},
		{"seed", g.Say("sheet.seed"), strconv.Itoa(int(n.Seed)), func(int) { n.Seed = freshSeed() }},
		{"families", g.Say("sheet.families"), g.FamilyWords(n.Families), s.stepFamilies},
	}
	if n.ToleranceDB > 0 {
		rows[4].value = "± " + g.Say("unit.db", g.Short(n.ToleranceDB))
	}
	switch {
	case s.drill().FixedLength:
		rows[5].value, rows[5].step = g.Say("sheet.by_drill"), nil
	case n.Time == sheet.NoLimit:
		rows[5].value = g.Say("sheet.no_limit")
	case n.Time > 0:
		rows[5].value = g.Say("unit.s", strconv.Itoa(int(n.Time)))
	}
	switch {
	case !s.covers():
		rows[6].value, rows[6].step = g.Say("sheet.by_drill"), nil
	case n.Cover == sheet.Always:
		rows[6].value = g.Say("sheet.always")
	case n.Cover == sheet.Never:
		rows[6].value = g.Say("sheet.never")
	case n.Cover > 0:
		rows[6].value = g.Say("sheet.after", int(n.Cover))
	}
	return rows
}

// covers says whether a sheet of the drill may say when the needle is covered.
func (s *sheetScene) covers() bool {
	return !s.drill().FixedCover
}

// rigs are those the drill is played on; the settings' own is a digital one.
func (s *sheetScene) rigs() []string {
	if s.drill().TapeOnly {
		return []string{rigDrawn, rigTape}
	}
	return []string{rigDrawn, rigDigital, rigTape, rigMine}
}

// all are the drill's families, in teaching order.
func (s *sheetScene) all() []source.Family {
	d := s.drill()
	return slices.DeleteFunc(source.Generated(), func(f source.Family) bool { return !slices.Contains(d.Families, f) })
}

func (s *sheetScene) drill() drills.Drill {
	d, _ := drills.DrillByID(s.n.Drill)
	return d
}

// setDrill goes to another drill and lets go of what it does not have.
func (s *sheetScene) setDrill(by int) {
	var ids []string
	for _, d := range drills.Drills() {
		ids = append(ids, d.ID)
	}
	s.n.Drill = another(ids, s.n.Drill, by)
	all := s.all()
	s.n.Families = slices.DeleteFunc(slices.Clone(s.n.Families), func(f source.Family) bool { return !slices.Contains(all, f) })
	if s.drill().FixedLength {
		s.n.Time = 0
	}
	if !s.covers() {
		s.n.Cover = 0
	}
	if !slices.Contains(s.rigs(), s.rig) {
		s.rig = rigDrawn
	}
}

// stepFamilies goes from all families to one after the other.
func (s *sheetScene) stepFamilies(by int) {
	all := append([]source.Family{""}, s.all()...)
	now := source.Family("")
	if len(s.n.Families) == 1 {
		now = s.n.Families[0]
	}
	s.n.Families = nil
	if f := another(all, now, by); f != "" && len(all) > 2 {
		s.n.Families = []source.Family{f}
	}
}

// toggle takes a family in or out; all of them and none are the same sheet.
func (s *sheetScene) toggle(f source.Family) {
	all := s.all()
	if !slices.Contains(all, f) {
		return
	}
	has := s.n.Families
	if len(has) == 0 {
		has = all
	}
	s.n.Families = slices.DeleteFunc(all, func(o source.Family) bool { return slices.Contains(has, o) == (o == f) })
	if len(s.n.Families) == len(s.all()) {
		s.n.Families = nil
	}
}

// made is the sheet with its rig. The error says what a class code cannot carry.
func (s *sheetScene) made(g *Game) (sheet.Sheet, string, error) {
	n := s.n
	switch s.rig {
	case rigDigital:
		r := drills.DigitalRig()
		n.Rig = &r
	case rigTape:
		r := drills.TapeRig()
		n.Rig = &r
	case rigMine:
		r := g.set.MyRig
		if n.ToleranceDB > 0 { // the sheet's goes before the rig's
			r.ToleranceDB = n.ToleranceDB
		}
		n.Rig = &r
	}
	n, err := n.Canonical()
	if err != nil {
		return n, "", err
	}
	code, err := n.Code()
	return n, code, err
}

func (s *sheetScene) actions(g *Game) []action {
	rows := s.rows(g)
	move := func(by int) func(*Game) {
		return func(*Game) {
			s.at = (s.at + by + len(rows)) % len(rows)
			if s.at < 8 { // past them are the families, which are always there
				s.second = s.at >= 4
			}
		}
	}
	change := func(by int) func(*Game) {
		return func(*Game) {
			if step := rows[s.at].step; step != nil {
				step(by)
			}
		}
	}
	acts := append(s.otherHalf(g), action{id: "enter", keys: enterKeys, cap: "cap.enter", label: g.Say("sheet.play"), do: s.play})
	acts = append(append(acts, rowActions(g, move, change)...), []action{
		{id: "another", keys: []ebiten.Key{ebiten.KeyN}, cap: "cap.n", label: g.Say("sheet.another"), do: func(*Game) { s.n.Seed = freshSeed() }},
		{id: "save", keys: []ebiten.Key{ebiten.KeyS}, cap: "cap.s", label: g.Say("sheet.save"), do: s.save},
		helpAction(g),
		{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.Say("sheet.back"), do: func(g *Game) { g.openJoin("", "") }},
	}...)
	for i, f := range source.Generated() {
		acts = append(acts, action{id: "family", keys: []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i)}, do: func(*Game) { s.toggle(f) }})
	}
	return acts
}

// update tells a probe what has been made.
func (s *sheetScene) update(g *Game) {
	if g.probe == nil {
		return
	}
	n, code, err := s.made(g)
	if now := fmt.Sprint(s.at, code, err); s.told != now {
		s.told = now
		g.probe.note("sheet", map[string]any{"row": s.rows(g)[s.at].id, "code": code, "words": g.SheetWords(n), "failed": err != nil})
	}
}

// play joins with the sheet's code.
func (s *sheetScene) play(g *Game) {
	if _, code, err := s.made(g); err == nil {
		g.openJoin(code, "")
	}
}

// save writes the sheet file.
func (s *sheetScene) save(g *Game) {
	n, code, err := s.made(g)
	if err != nil {
		return
	}
	file, err := n.File()
	where := "sheet-" + strings.ToLower(strings.ReplaceAll(code, " ", "-")) + ".json"
	if err == nil {
		where, err = writeDocument(where, file)
	}
	if err != nil {
		g.tell(g.Say("sheet.not_saved", g.Fault(err)))
		return
	}
	g.tell(g.Say("sheet.saved", where))
	g.probe.note("saved", map[string]any{"file": where})
}
