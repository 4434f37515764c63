package window

import (
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
)

// germanLooks are the ways in which German is looked at: its longer words in the
// smallest window with the largest text always, in the usual window and on a
// phone with SLOWNEEDLE_EVERY_SCREEN=1.
func germanLooks(t *testing.T, see func(t *testing.T, size, settings string)) {
	looks := map[string]int{"960x600": 150}
	if everyScreen {
		looks["1280x800"], looks["390x844"], looks["844x390"] = 100, 100, 100
	}
	for size, text := range looks {
		t.Run(fmt.Sprintf("%s-%d", size, text), func(t *testing.T) {
			inTurn(t)
			see(t, size, fmt.Sprintf(`{"caution_seen":true,"language":"de","reduced_motion":true,"text_percent":%d,"drill":"take"}`, text))
		})
	}
}

// TestGermanClass mistypes a code, is refused by a class server, and looks at
// the screens of a class.
func TestGermanClass(t *testing.T) {
	germanLooks(t, func(t *testing.T, size, settings string) {
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
		a.Screen("home")
		w := a.walk(size, "german-", size)
		w.See("c", "join", "join")
		says := func(part string) {
			t.Helper()
			e := a.Next("words with "+part, func(e event) bool { return e.Is("typed") && strings.Contains(e.Str("says"), part) })
			if e["wrong"] != true {
				t.Errorf("%q is not wrong", e.Str("says"))
			}
		}
		typed := strings.ToLower(strings.ReplaceAll(mine, " ", ""))
		swapped := typed[:2] + typed[3:4] + typed[2:3] + typed[4:]
		a.Write(swapped)
		says("vertauscht")
		a.LetGo()
		a.Shot("german-mistyped-" + size)
		for range 12 {
			a.For("BackSpace", "typed")
		}
		a.Write(typed)
		right := a.Next("the code", func(e event) bool { return e.Is("typed") && e["right"] == true })
		a.LetGo()
		if want := "Aussteuern · 1 Runde · Stufe 1"; right.Str("says") != want {
			t.Errorf("the code stands for %q, want %q", right.Str("says"), want)
		}
		a.Press("Down", func() event {
			return a.Next("the name's field", func(e event) bool { return e.Is("typed") && e.Num("field") == 1 })
		})
		a.Named("Mondlicht")
		refused := a.For("Return", "asked")
		if want := "Der Klassenserver meldet: Dieser Code gehört zu einer anderen Klasse; frag deine Lehrkraft nach dem richtigen. Noch einmal „Los“ spielt diese Runden ohne ihn."; refused.Str("says") != want {
			t.Errorf("%q, want %q", refused.Str("says"), want)
		}
		w.Look("refused", a.Screen("join"))
		w.See("Return", "round", "class-card")
		a.Begin()
		a.Louder(1)
		a.Lock()
		w.See("Return", "handin", "handin")
		w.See("h", "help", "help-handin")
	})
}

// TestGermanFiles opens what is no recording, and looks at help and sheet.
func TestGermanFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "brief.wav")
	if err := os.WriteFile(path, []byte("Sehr geehrte Damen und Herren, anbei die Aufnahme"), 0o644); err != nil {
		t.Fatal(err)
	}
	germanLooks(t, func(t *testing.T, size, settings string) {
		a := start(t, options{size: size, settings: settings, args: []string{path}})
		a.Notice("brief.wav: Das ist weder WAV noch FLAC")
		home := a.Screen("home")
		a.walk(size, "german-", size).Look("home-notice", home)
		a.ClickOn(home, "notice", "home") // and away it is
	})
}
