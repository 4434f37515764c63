package game

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"slowneedle/assets"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/journal"
	"slowneedle/game/words"
)

// sentencesSaid reads all sentences with a code from the source of every room:
// English by code.
func sentencesSaid(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go"):
			return err
		case filepath.Dir(path) == filepath.Join("..", "audio", "said"):
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) < 2 {
				return true
			}
			f, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || fmt.Sprint(f.X) != "said" || f.Sel.Name != "New" && f.Sel.Name != "Errorf" {
				return true
			}
			code, english := literal(call.Args[0]), literal(call.Args[1])
			if filepath.Base(path) == "refusal.go" && code == "" {
				return true // the code comes from a server
			}
			if code == "" || english == "" {
				t.Errorf("%s: a sentence whose code and English do not stand there as they are", path)
			}
			if before, ok := all[code]; ok && before != english {
				t.Errorf("%s stands for %q and for %q", code, before, english)
			}
			all[code] = english
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// literal is the text of a string that stands in the source, "" of anything else.
func literal(e ast.Expr) string {
	lit, ok := e.(*ast.BasicLit)
	if !ok {
		return ""
	}
	text, err := strconv.Unquote(lit.Value)
	if err != nil {
		return ""
	}
	return text
}

// places are the verbs of a sentence in order. What is written as a whole,
// quoted, or an error, is a %s: every language has quotes of its own.
func places(text string) string {
	return regexp.MustCompile(`%[wvq]`).ReplaceAllString(strings.Join(regexp.MustCompile(`%[-+#0-9.]*[a-z]`).FindAllString(text, -1), " "), "%s")
}

// Every sentence that a room says with a code has words in every language but
// English, which is its own, with the same places; no words are left over.
func TestEverySentenceIsSaid(t *testing.T) {
	english := sentencesSaid(t)
	if len(english) < 80 {
		t.Fatalf("only %d sentences were found", len(english))
	}
	for _, lang := range assets.Languages() {
		w, err := assets.Load(lang)
		if err != nil {
			t.Fatal(err)
		}
		if lang != "en" {
			for code, e := range english {
				text, ok := w["said."+code]
				if !ok {
					t.Errorf("%s.json has no words for %q: %s", lang, "said."+code, e)
				} else if places(text) != places(e) {
					t.Errorf("%s.json: %q has the places %s, English has %s", lang, "said."+code, places(text), places(e))
				}
			}
			for _, code := range words.SystemSays {
				if w["system."+code.Code] == "" {
					t.Errorf("%s.json has no words for %q", lang, "system."+code.Code)
				}
			}
		}
		for key := range w {
			code, ok := strings.CutPrefix(key, "said.")
			if _, known := english[code]; ok && (lang == "en" || !known) {
				t.Errorf("%s.json has %q, which nothing says", lang, key)
			}
		}
	}
}

func german(t *testing.T) words.Speech {
	t.Helper()
	w, err := assets.Load("de")
	if err != nil {
		t.Fatal(err)
	}
	return words.Speech{Words: w}
}

// What stands in a sentence is written as the language writes it, sentences in
// sentences and errors of the system too.
func TestPut(t *testing.T) {
	s := words.Speech{Words: assets.Words{
		"number.point": ",", "family.voice": "Stimme", "system.denied": "keine Erlaubnis",
		"said.all": "%s: %s, %s, %s, %.2f, %d {Runde|Runden}, %s", "said.tone": "der Ton",
	}}
	err := fmt.Errorf("journal: %w", said.Errorf("all", "%s: %s, %v, %s, %.2f, %d rounds, %w",
		said.New("tone", "the tone"), "−3.5", 0.5, source.Voice, -1.25, 1, &fs.PathError{Op: "open", Path: "/x/1.5", Err: fs.ErrPermission}))
	if got, want := s.Fault(err), "der Ton: −3,5, 0,5, Stimme, −1,25, 1 Runde, keine Erlaubnis"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := (&words.Speech{}).Fault(err), "the tone: −3.5, 0.5, voice, -1.25, 1 rounds, open /x/1.5: permission denied"; got != want {
		t.Errorf("without words %q, want %q", got, want)
	}
	if got := s.Fault(errors.New("something new")); got != "something new" {
		t.Errorf("what nobody knows is %q", got)
	}
	odd := said.New("tone", "%s", "what the server says")
	odd.Args = []any{"one", "too many"}
	if got := s.Put(odd); got != "what the server says" {
		t.Errorf("with other things in it than ours: %q", got)
	}
	if got := s.Fault(fmt.Errorf("saving: %w", syscall.EROFS)); got != "saving: "+syscall.EROFS.Error() {
		t.Errorf("%q", got)
	}
}

// What a learner meets when something is wrong is German in the German
// interface, from the errors that the rooms really return.
func TestGermanFaults(t *testing.T) {
	s := german(t)
	n := sheet.New(1)
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	parse := func(text string) error { _, err := sheet.ParseCode(text); return err }
	rig := drills.DigitalRig()
	rig.TargetVU = 0.5
	n.Rig = &rig
	_, fine := n.Canonical()
	rig.ReferenceDBFS, rig.CeilingDBFS, rig.LampDBFS = -9, -9, -9
	notWav := (&recording{name: "brief.wav", open: file("Sehr geehrte Damen und Herren, anbei die Aufnahme")})
	_, wrongFile := notWav.sound(1)
	notWav.open = file("ID3\x04 and so on, a song")
	_, mp3 := notWav.sound(1)
	body, err := json.Marshal(client.RefusalFor(parse(code[:12] + "$")))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	book, err := journal.Open(filepath.Join(dir, "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	lines := func(text string) error { _, err := book.Import(strings.NewReader(text)); return err }
	_, held := journal.Open(filepath.Join(dir, "journal.db"))
	_, noFolder := journal.Open(filepath.Join(dir, "journal.db", "in", "journal.db"))
	_, gone := journal.OpenReadOnly(filepath.Join(dir, "other.db"))
	_, damaged := readSettings([]byte("{"))
	_, series := readSeries([]byte(`{"code":"` + code + `","takes":[{},{},{},{},{},{},{},{},{},{},{}]}`))
	for _, c := range []struct {
		err  error
		want string
	}{
		{parse("4GAH"), "Der Code hat 4 Zeichen; ein Code hat 12, 16 oder 20"},
		{parse("4GAH $"), "„$“"},
		{parse(code[:10] + code[11:12] + code[10:11] + code[12:]), "Zeichen"},
		{handin.CheckWho(""), "Es fehlt ein Name oder Deckname"},
		{handin.CheckWho("…"), "Der Name braucht einen Buchstaben oder eine Ziffer"},
		{rig.Validate(), "weniger als 1 dB Reserve"},
		{fine, "Sollwert: 0,5 VU"},
		{wrongFile, "brief.wav: Das ist keine WAV-Datei"},
		{mp3, "brief.wav: Das ist eine MP3-Datei"},
		{lines(""), "Die Datei ist leer"},
		{lines("{\n"), "Zeile 1: "},
		{lines(`{"format":"another","version":1}`), "Zeile 1: Das ist kein Verlauf, sondern „another“; es wurde nichts übernommen"},
		{lines("when,what\n"), "Zeile 1: Das sind weder JSON-Zeilen noch CSV mit einer Spalte „"},
		{held, "Ein anderes Fenster hat deinen Verlauf geöffnet"},
		{noFolder, "Der Ordner lässt sich nicht anlegen: "},
		{gone, "Es lässt sich nicht zum Lesen öffnen: Das gibt es nicht"},
		{fmt.Errorf("journal: %w", journal.ErrReadOnly), "Der Verlauf ist nur zum Lesen geöffnet"},
		{fmt.Errorf("journal: %w", journal.ErrFull), "Es ist kein Platz mehr dafür"},
		{noAddress("192.168.1.20:x"), "„192.168.1.20:x“ ist keine Adresse wie 192.168.1.20:8410"},
		{damaged, "Die Einstellungen"},
		{series, "11 Versuche"},
	} {
		got := s.Fault(c.err)
		if !strings.Contains(got, c.want) || strings.Contains(got, "%") {
			t.Errorf("%v\n\tis said as %q, want %q in it", c.err, got, c.want)
		}
	}
	var r client.Refusal
	if err := json.Unmarshal(body, &r); err != nil || r.Code != "code.character" {
		t.Errorf("a refusal goes over the wire as %s", body)
	}
}

// A task and its solution have the same figures in German as in English, with
// the language's decimal mark.
func TestGermanFigures(t *testing.T) {
	s := german(t)
	figures := regexp.MustCompile(`[-+−]?\d+([.,]\d+)?`)
	for _, d := range drills.Drills() {
		for _, level := range []int{1, 6, 13, 20} {
			for index := range 2 {
				ex, err := drills.NewExercise(d.ID, 7, index, level, drills.Settings{})
				if err != nil {
					t.Fatal(err)
				}
				for _, x := range []said.Sentence{ex.Task, ex.Solution} {
					text := s.Put(x)
					want := strings.Join(figures.FindAllString(x.String(), -1), " ")
					got := strings.Join(figures.FindAllString(text, -1), " ")
					if text == x.String() || strings.ReplaceAll(got, ",", ".") != want {
						t.Errorf("%s has the figures %s, German %s: %s", x, want, got, text)
					}
					if regexp.MustCompile(`[^S]\b\d+\.\d`).MatchString(text) {
						t.Errorf("a decimal point in %q", text)
					}
				}
			}
		}
	}
}

func noAddress(text string) error { _, err := address(text); return err }

func file(text string) func() (io.ReadSeeker, func(), error) {
	return func() (io.ReadSeeker, func(), error) { return strings.NewReader(text), func() {}, nil }
}
