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
	inTurn(t)
	a := start(t, options{settings: calm})
	a.Screen("home")
	a.To("c", "join")
	made := func(row string) func() event {
		return func() event {
			return a.Next("the sheet at "+row, func(e event) bool { return e.Is("sheet") && e.Str("row") == row })
		}
	}
	first := a.Press("F2", made("drill"))
	a.Screen("sheet")
	a.Shot("sheet-first")
	n := parsed(t, first)
	if fresh := sheet.New(n.Seed); n.Drill != fresh.Drill || n.Rounds != 10 || n.Rig != nil {
		t.Errorf("it begins as %+v", n)
	}
	a.Press("Down", made("rounds"))
	a.Press("Left", made("rounds"))
	a.Press("Left", made("rounds"))
	a.Press("Down", made("level"))
	a.Press("Right", made("level"))
	a.Press("Down", made("rig"))
	a.Press("Right", made("rig"))
	a.Press("Right", made("rig"))
	a.Press("Down", made("tolerance"))
	a.Press("Right", made("tolerance"))
	a.Press("Down", made("time"))
	a.Press("Right", made("time"))
	a.Press("1", made("time"))
	last := a.Press("4", made("time"))
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
	if last.Str("code") != wantCode || last.Str("words") != w.SheetWords(parsed(t, last)) {
		t.Errorf("the screen has %s, %q; the rows say %s, %q", last.Str("code"), last.Str("words"), wantCode, w.SheetWords(want))
	}
	a.Shot("sheet-set")
	other := a.Press("n", made("time"))
	if parsed(t, other).Seed == n.Seed || parsed(t, other).Rounds != want.Rounds {
		t.Errorf("n made %+v of %+v", parsed(t, other), want)
	}

	a.For("s", "saved")
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
	if code, _ := written.Code(); code != other.Str("code") {
		t.Errorf("the file has %s, the screen %s", code, other.Str("code"))
	}
	a.Shot("sheet-saved")

	a.To("Return", "join")
	a.Named("Moonrake")
	joined := a.For("Return", "joined")
	if joined.Str("code") != other.Str("code") {
		t.Errorf("joined %s, want %s", joined.Str("code"), other.Str("code"))
	}
	a.Screen("round")
	begin, _ := a.Begin()
	if f := source.Family(begin.Str("family")); !slices.Contains(written.Families, f) {
		t.Errorf("the first round is of %q, want one of %v", f, written.Families)
	}
}

// Behind the last drill come the test forms: by keys a teacher makes form A, whose code is
// that of the same form from the teacher's command, and a learner joins with it.
func TestMakeTestForm(t *testing.T) {
	inTurn(t)
	for _, language := range []string{"en", "de"} {
		a := start(t, options{settings: `{"caution_seen":true,"language":"` + language + `"}`})
		a.Screen("home")
		a.To("c", "join")
		made := func() event { return a.Event("sheet") }
		drill := parsed(t, a.Press("F2", made))
		e := a.Press("Left", made)
		for range 2 { // to before the first drill
			if parsed(t, e).Form == "" {
				e = a.Press("Left", made)
			}
		}
		for i, form := range []testform.Form{testform.C, testform.B, testform.A} {
			if i > 0 {
				e = a.Press("Left", made)
			}
			want, err := sheet.NewForm(drill.Seed%testform.Sets, form)
			if err != nil {
				t.Fatal(err)
			}
			if code, _ := want.Code(); e.Str("code") != code {
				t.Errorf("form %s: the screen has %s, %q, want %s", form, e.Str("code"), e.Str("words"), code)
			}
		}
		a.Screen("sheet")
		a.Shot("sheet-form-" + language)
		e = a.Press("n", made)
		if n := parsed(t, e); n.Form != testform.A || n.Seed >= testform.Sets {
			t.Errorf("new rounds of a test form are %+v", n)
		}
		a.To("Return", "join")
		a.Named("Moonrake")
		joined := a.For("Return", "joined")
		if joined.Str("code") != e.Str("code") {
			t.Errorf("joined %s, want %s", joined.Str("code"), e.Str("code"))
		}
	}
}

// parsed is the sheet of the code that a screen shows.
func parsed(t *testing.T, e event) sheet.Sheet {
	t.Helper()
	n, err := sheet.ParseCode(e.Str("code"))
	if err != nil || len(strings.Fields(e.Str("code"))) < 3 {
		t.Fatalf("the screen's code %q: %v", e.Str("code"), err)
	}
	return n
}

// A projector shows it whole; TestScreens and TestPhones look at the other sizes.
func TestSheetOnAProjector(t *testing.T) {
	inTurn(t)
	const size = "1920x1080"
	w := start(t, options{settings: calm, size: size}).walk(size, "", size)
	w.Screen("home")
	w.To("c", "join")
	w.Sheet()
}
