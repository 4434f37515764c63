package window

import (
	"fmt"
	"math"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
)

// germanLooks are the ways in which German is looked at: its longer words in the
// smallest window with the largest text always, in the usual window and on a
// phone with SLOWNEEDLE_EVERY_SCREEN=1.
func germanLooks(t *testing.T, drill string, see func(t *testing.T, size, settings string)) {
	looks := map[string]int{"960x600": 150}
	if os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != "" {
		looks["1280x800"], looks["390x844"], looks["844x390"] = 100, 100, 100
	}
	for size, text := range looks {
		t.Run(fmt.Sprintf("%s-%d", size, text), func(t *testing.T) {
			t.Parallel()
			see(t, size, fmt.Sprintf(`{"caution_seen":true,"language":"de","reduced_motion":true,"text_percent":%d,"drill":%q}`, text, drill))
		})
	}
}

// TestGermanDrills plays every drill in German and looks at its screens.
func TestGermanDrills(t *testing.T) {
	for _, d := range drills.Drills() {
		t.Run(d.ID, func(t *testing.T) {
			germanLooks(t, d.ID, func(t *testing.T, size, settings string) {
				a := start(t, options{size: size, settings: settings})
				a.screen("home")
				look := walk{app: a, size: size, pre: "german-" + d.ID + "-", end: size}.look
				look("card", a.press("Return", func() event { return a.screen("round") }))
				a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
				e := a.screen("round")
				if d.ID == drills.TrustIt || d.ID == drills.OddOne {
					a.press("2", func() event { return a.next("choice", func(e event) bool { return e.is("choice") }) })
				} else {
					a.up()
				}
				look("round", e)
				if d.ID == drills.Ride { // it runs its length
					return
				}
				walk{app: a, size: size, pre: "german-" + d.ID + "-", end: size}.lock(d.ID)
				look("verdict", a.press("Return", func() event { return a.screen("verdict") }))
			})
		})
	}
}

// TestGermanClass mistypes a code, is refused by a class server, and looks at
// the screens of a class.
func TestGermanClass(t *testing.T) {
	germanLooks(t, "take", func(t *testing.T, size, settings string) {
		n := sheet.New(4711)
		n.Rounds = 1
		other := sheet.New(12)
		mine, err := n.Code()
		if err != nil {
			t.Fatal(err)
		}
		class, err := server.Open(server.Options{Data: t.TempDir(), Sheets: []sheet.Sheet{other}})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { class.Close() })
		web := httptest.NewServer(class)
		t.Cleanup(web.Close)
		a := start(t, options{size: size, settings: settings, args: []string{"--server", web.Listener.Addr().String()}})
		a.screen("home")
		look := walk{app: a, size: size, pre: "german-", end: size}.look
		look("join", a.press("c", func() event { return a.screen("join") }))
		says := func(part string) {
			t.Helper()
			e := a.next("words with "+part, func(e event) bool { return e.is("typed") && strings.Contains(e.str("says"), part) })
			if e["wrong"] != true {
				t.Errorf("%q is not wrong", e.str("says"))
			}
		}
		typed := strings.ToLower(strings.ReplaceAll(mine, " ", ""))
		swapped := typed[:2] + typed[3:4] + typed[2:3] + typed[4:]
		a.hands("type", swapped)
		says("vertauscht")
		a.letGo()
		a.shot("german-mistyped-" + size)
		for range 12 {
			a.press("BackSpace", func() event { return a.next("a letter less", func(e event) bool { return e.is("typed") }) })
		}
		a.hands("type", typed)
		right := a.next("the code", func(e event) bool { return e.is("typed") && e["right"] == true })
		a.letGo()
		if want := "Aussteuern · 1 Runde · Stufe 1"; right.str("says") != want {
			t.Errorf("the code stands for %q, want %q", right.str("says"), want)
		}
		a.press("Down", func() event {
			return a.next("the name's field", func(e event) bool { return e.is("typed") && e.num("field") == 1 })
		})
		a.hands("type", "Mondlicht")
		a.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Mondlicht" })
		a.letGo()
		refused := a.press("Return", func() event { return a.next("a refusal", func(e event) bool { return e.is("asked") }) })
		if want := "Der Klassenserver meldet: Dieser Code gehört zu einer anderen Klasse; frag nach dem an der Tafel. Noch einmal „Los“ spielt diese Runden ohne ihn."; refused.str("says") != want {
			t.Errorf("%q, want %q", refused.str("says"), want)
		}
		look("refused", a.screen("join"))
		look("class-card", a.press("Return", func() event { return a.screen("round") }))
		a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
		a.screen("round")
		a.up()
		a.press("Return", func() event { return a.screen("verdict") })
		look("handin", a.press("Return", func() event { return a.screen("handin") }))
		look("help-handin", a.press("h", func() event { return a.screen("help") }))
	})
}

// TestGermanFiles opens what is no recording, and looks at help and sheet.
func TestGermanFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "brief.wav")
	if err := os.WriteFile(path, []byte("Sehr geehrte Damen und Herren, anbei die Aufnahme"), 0o644); err != nil {
		t.Fatal(err)
	}
	germanLooks(t, "", func(t *testing.T, size, settings string) {
		a := start(t, options{size: size, settings: settings, args: []string{path}})
		a.notice("brief.wav: Das ist weder WAV noch FLAC")
		look := walk{app: a, size: size, pre: "german-", end: size}.look
		x, y := look("home-notice", a.screen("home")).place(t, "notice")
		a.click(x, y, func() event { return a.screen("home") }) // and away it is
		look("help-home", a.press("h", func() event { return a.screen("help") }))
		look("tour", a.press("t", func() event { return a.screen("tour") }))
		a.press("Escape", func() event { return a.screen("help") })
		a.press("Escape", func() event { return a.screen("home") })
		a.press("c", func() event { return a.screen("join") })
		look("sheet", a.press("F2", func() event { return a.screen("sheet") }))
	})
}

// checkWriting wants all that is written inside the window, and no two lines
// over each other.
func checkWriting(t testing.TB, screen string, e event, size string) {
	t.Helper()
	var w, h float64
	if _, err := fmt.Sscanf(size, "%gx%g", &w, &h); err != nil {
		t.Fatal(err)
	}
	type line struct {
		text       string
		x, y, r, b float64
	}
	var all []line
	texts, _ := e["texts"].([]any)
	if len(texts) == 0 {
		t.Errorf("%s: nothing is written", screen)
	}
	for _, v := range texts {
		f, _ := v.([]any)
		n := func(i int) float64 { x, _ := f[i].(float64); return x }
		l := line{fmt.Sprint(f[0]), n(1), n(2), n(1) + n(3), n(2) + n(4)}
		if l.x < 0 || l.y < 0 || l.r > w || l.b > h {
			t.Errorf("%s: %q reaches out of the window: %+v", screen, l.text, l)
		}
		for _, o := range all {
			across, down := math.Min(l.r, o.r)-math.Max(l.x, o.x), math.Min(l.b, o.b)-math.Max(l.y, o.y)
			if across > 1 && down > 1 {
				t.Errorf("%s: %q and %q are written over each other by %.0f by %.0f", screen, l.text, o.text, across, down)
			}
		}
		all = append(all, l)
	}
}
