package game

import (
	"strings"
	"testing"

	"slowneedle/assets"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/words"
)

// Whatever the rows are set to, there is a code, and it gives the sheet back;
// only a rig that no code carries is said to be one.
func TestSheetRowsAlwaysGiveACode(t *testing.T) {
	g := &Game{Speech: &words.Speech{}, set: defaultSettings()}
	en, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	g.Words = en
	g.set.MyRig = drills.FilmRig()
	g.set.MyRig.ToleranceDB = 1.5
	s := &sheetScene{n: sheet.New(1), rig: rigDrawn}
	seen := map[string]bool{}
	check := func(row string) {
		t.Helper()
		n, code, err := s.made(g)
		if err != nil {
			t.Fatalf("after %s: %v", row, err)
		}
		seen[code] = true
		back, err := sheet.ParseCode(code)
		if again, _ := back.Code(); err != nil || again != code || back.Words() != n.Words() {
			t.Fatalf("after %s: %s is read as %q (%v), made as %q", row, code, back.Words(), err, n.Words())
		}
	}
	for range drills.Drills() {
		for i := range s.rows(g) {
			row := s.rows(g)[i]
			if row.id == "drill" || row.step == nil {
				continue
			}
			for range 26 {
				row.step(1)
				check(row.id)
			}
			for range 7 {
				row.step(-1)
				check(row.id)
			}
		}
		for _, f := range s.all() {
			s.toggle(f)
			check("toggle")
		}
		s.rows(g)[0].step(1)
		check("drill")
	}
	if s.n.Drill != drills.SetTake || len(seen) < 500 {
		t.Errorf("ended at %s with %d codes", s.n.Drill, len(seen))
	}
	s.rig, g.set.MyRig.TargetVU = rigMine, 0.5
	if _, _, err := s.made(g); err == nil || !strings.Contains(err.Error(), "target") {
		t.Errorf("a target of half a decibel: %v", err)
	}
}
