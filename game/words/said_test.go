package words_test

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
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
	"slowneedle/game/words"
)

// sentencesSaid reads all sentences with a code from the source of every room:
// English by code.
func sentencesSaid(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go"):
			return err
		case filepath.Dir(path) == filepath.Join("..", "..", "audio", "said"):
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
			for code := range words.SystemErrors() {
				if w["system."+code] == "" {
					t.Errorf("%s.json has no words for %q", lang, "system."+code)
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

func german(t *testing.T) *words.Speech {
	t.Helper()
	w, err := assets.Load("de")
	if err != nil {
		t.Fatal(err)
	}
	return &words.Speech{Words: w}
}

// What stands in a sentence is written as the language writes it, sentences in
// sentences and errors of the system too.
func TestPut(t *testing.T) {
	s := &words.Speech{Words: assets.Words{
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
