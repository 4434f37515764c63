package window

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"slowneedle/assets"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/testform"
	"slowneedle/game/words"
)

// A teacher makes a sheet by keyboard: the code on the screen is that of the
// rows, the file is that of the code, and playing it is playing that sheet.
func TestMakeSheet(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	a.screen("home")
	a.press("c", func() event { return a.screen("join") })
	made := func(row string) func() event {
		return func() event {
			return a.next("the sheet at "+row, func(e event) bool { return e.is("sheet") && e.str("row") == row })
		}
	}
	first := a.press("F2", made("drill"))
	a.screen("sheet")
	a.shot("sheet-first")
	n := parsed(t, first)
	if fresh := sheet.New(n.Seed); n.Drill != fresh.Drill || n.Rounds != 10 || n.Rig != nil {
		t.Errorf("it begins as %+v", n)
	}
	a.press("Down", made("rounds"))
	a.press("Left", made("rounds"))
	a.press("Left", made("rounds"))
	a.press("Down", made("level"))
	a.press("Right", made("level"))
	a.press("Down", made("rig"))
	a.press("Right", made("rig"))
	a.press("Right", made("rig"))
	a.press("Down", made("tolerance"))
	a.press("Right", made("tolerance"))
	a.press("Down", made("time"))
	a.press("Right", made("time"))
	a.press("1", made("time"))
	last := a.press("4", made("time"))
	tape := drills.TapeRig()
	want := sheet.Sheet{Drill: drills.SetTake, Families: []source.Family{source.Voice, source.Plucked, source.Ensemble}, Rig: &tape,
		Rounds: 8, Level: 2, ToleranceDB: 0.5, Time: 15, Seed: n.Seed}
	wantCode, err := want.Code()
	if err != nil {
		t.Fatal(err)
	}
	english, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	w := words.Speech{Words: english}
	if last.str("code") != wantCode || last.str("words") != w.SheetWords(parsed(t, last)) {
		t.Errorf("the screen has %s, %q; the rows say %s, %q", last.str("code"), last.str("words"), wantCode, w.SheetWords(want))
	}
	a.shot("sheet-set")
	other := a.press("n", made("time"))
	if parsed(t, other).Seed == n.Seed || parsed(t, other).Rounds != want.Rounds {
		t.Errorf("n made %+v of %+v", parsed(t, other), want)
	}

	a.press("s", func() event { return a.next("the file", func(e event) bool { return e.is("saved") }) })
	files, err := filepath.Glob(filepath.Join(a.home, "sheet-*.json"))
	if err != nil || len(files) != 1 {
		t.Fatalf("sheets written: %v, %v", files, err)
	}
	data, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	written, err := sheet.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	if code, _ := written.Code(); code != other.str("code") {
		t.Errorf("the file has %s, the screen %s", code, other.str("code"))
	}
	a.shot("sheet-saved")

	a.press("Return", func() event { return a.screen("join") })
	a.hands("type", "Moonrake")
	a.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Moonrake" })
	a.letGo()
	joined := a.press("Return", func() event { return a.next("the start", func(e event) bool { return e.is("joined") }) })
	if joined.str("code") != other.str("code") {
		t.Errorf("joined %s, want %s", joined.str("code"), other.str("code"))
	}
	a.screen("round")
	begin := a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	if f := source.Family(begin.str("family")); !slices.Contains(written.Families, f) {
		t.Errorf("the first round is of %q, want one of %v", f, written.Families)
	}
}

// Behind the last drill come the test forms: by keys a teacher makes form A, whose code is
// that of the same form from the teacher's command, and a learner joins with it.
func TestMakeTestForm(t *testing.T) {
	t.Parallel()
	for _, language := range []string{"en", "de"} {
		a := start(t, options{settings: `{"caution_seen":true,"language":"` + language + `"}`})
		a.screen("home")
		a.press("c", func() event { return a.screen("join") })
		made := func() event { return a.next("the sheet", func(e event) bool { return e.is("sheet") }) }
		drill := parsed(t, a.press("F2", made))
		e := a.press("Left", made)
		for range 2 { // to before the first drill
			if parsed(t, e).Form == "" {
				e = a.press("Left", made)
			}
		}
		for i, form := range []testform.Form{testform.C, testform.B, testform.A} {
			if i > 0 {
				e = a.press("Left", made)
			}
			want, err := sheet.NewForm(drill.Seed%testform.Sets, form)
			if err != nil {
				t.Fatal(err)
			}
			if code, _ := want.Code(); e.str("code") != code {
				t.Errorf("form %s: the screen has %s, %q, want %s", form, e.str("code"), e.str("words"), code)
			}
		}
		a.screen("sheet")
		a.shot("sheet-form-" + language)
		e = a.press("n", made)
		if n := parsed(t, e); n.Form != testform.A || n.Seed >= testform.Sets {
			t.Errorf("new rounds of a test form are %+v", n)
		}
		a.press("Return", func() event { return a.screen("join") })
		a.hands("type", "Moonrake")
		a.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Moonrake" })
		a.letGo()
		joined := a.press("Return", func() event { return a.next("the start", func(e event) bool { return e.is("joined") }) })
		if joined.str("code") != e.str("code") {
			t.Errorf("joined %s, want %s", joined.str("code"), e.str("code"))
		}
	}
}

// parsed is the sheet of the code that a screen shows.
func parsed(t *testing.T, e event) sheet.Sheet {
	t.Helper()
	n, err := sheet.ParseCode(e.str("code"))
	if err != nil || len(strings.Fields(e.str("code"))) < 3 {
		t.Fatalf("the screen's code %q: %v", e.str("code"), err)
	}
	return n
}

// Every size shows it whole, in either colours and language.
func TestSheetLooks(t *testing.T) {
	for name, o := range map[string]options{
		"1280x800-paper":    {size: "1280x800", settings: `{"caution_seen":true,"theme":"paper"}`},
		"960x600-large":     {size: "960x600", settings: `{"caution_seen":true,"text_percent":150}`},
		"960x600-german":    {size: "960x600", settings: `{"caution_seen":true,"language":"de"}`},
		"390x844-phone":     {size: "390x844", settings: `{"caution_seen":true}`},
		"844x390-phone":     {size: "844x390", settings: `{"caution_seen":true}`},
		"1920x1080-theatre": {size: "1920x1080", settings: `{"caution_seen":true}`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			a := start(t, o)
			a.screen("home")
			a.press("c", func() event { return a.screen("join") })
			e := a.press("F2", func() event { return a.screen("sheet") })
			checkPlaces(t, "sheet", e, o.size)
			for range 3 {
				a.press("Right", func() event { return a.next("a drill", func(e event) bool { return e.is("sheet") }) })
			}
			a.press("1", func() event { return a.next("no change", func(e event) bool { return e.is("screen") }) })
			a.press("3", func() event { return a.next("a family", func(e event) bool { return e.is("sheet") }) })
			for range 6 {
				a.press("Down", func() event { return a.next("a row", func(e event) bool { return e.is("sheet") }) })
			}
			e = a.press("Right", func() event { return a.next("a cover", func(e event) bool { return e.is("sheet") }) })
			if e["failed"] != false {
				t.Errorf("no sheet: %v", e)
			}
			checkEdges(t, a.shot("sheet-"+name))
		})
	}
}
