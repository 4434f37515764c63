package practice

import (
	"strings"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/testform"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// Whatever the rows are set to, there is a code, and it gives the sheet back;
// only a rig that no code carries is refused.
func TestDraftAlwaysGivesACode(t *testing.T) {
	w, set := &words.Speech{}, store.DefaultSettings()
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	set.MyRig = drills.FilmRig()
	set.MyRig.ToleranceDB = 1.5
	d := &Draft{Sheet: sheet.New(1), rig: store.RigDrawn}
	seen := map[string]bool{}
	check := func(row string) {
		t.Helper()
		n, code, err := d.Made(set)
		if err != nil {
			t.Fatalf("after %s: %v", row, err)
		}
		seen[code] = true
		back, err := sheet.ParseCode(code)
		if again, _ := back.Code(); err != nil || again != code || w.SheetWords(back) != w.SheetWords(n) {
			t.Fatalf("after %s: %s is read as %q (%v), made as %q", row, code, w.SheetWords(back), err, w.SheetWords(n))
		}
	}
	forms := map[string]bool{} // codes of those that were come by
	for range len(drills.Drills()) + len(testform.Forms) {
		for i := range d.Rows(w) {
			row := d.Rows(w)[i]
			if row.Key == "drill" || row.Step == nil {
				continue
			}
			for range 26 {
				row.Step(1)
				check(row.Key)
			}
			for range 7 {
				row.Step(-1)
				check(row.Key)
			}
		}
		for _, f := range d.Families() {
			d.Toggle(f)
			check("toggle")
		}
		if n, code, err := d.Made(set); err == nil && n.Form != "" {
			// The same that sheet.NewForm makes for the teacher's command.
			want, err := sheet.NewForm(n.Seed, n.Form)
			if wanted, _ := want.Code(); err != nil || code != wanted {
				t.Errorf("form %s of set %d has the code %s, want %s (%v)", n.Form, n.Seed, code, wanted, err)
			}
			forms[string(n.Form)] = true
		}
		d.Rows(w)[0].Step(1)
		check("drill")
	}
	if len(forms) != 3 {
		t.Errorf("forms %v", forms)
	}
	if d.Sheet.Drill != drills.SetTake || len(seen) < 500 {
		t.Errorf("ended at %s with %d codes", d.Sheet.Drill, len(seen))
	}
	d.rig, set.MyRig.TargetVU = store.RigMine, 0.5
	if _, _, err := d.Made(set); err == nil || !strings.Contains(err.Error(), "target") {
		t.Errorf("a target of half a decibel: %v", err)
	}
}
