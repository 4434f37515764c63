package words_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"slowneedle/assets"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/practice"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// TestEveryWordIsThere reads the program's own source for the keys it asks
// for, and wants each in every language, with the same verbs, and no key that
// nothing asks for.
func TestEveryWordIsThere(t *testing.T) {
	used := keysUsed(t)
	en, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	for _, lang := range assets.Languages() {
		w, err := assets.Load(lang)
		if err != nil {
			t.Fatal(err)
		}
		for key := range used {
			if w[key] == "" {
				t.Errorf("%s.json has no words for %q", lang, key)
			}
		}
		for k, english := range drills.English {
			text := w[words.VerdictKey(k)]
			if lang != "en" && sorted(verbs(text)) != sorted(verbs(english)) {
				t.Errorf("%s.json: %q has the places %q, English has %q", lang, words.VerdictKey(k), verbs(text), verbs(english))
			}
			delete(w, words.VerdictKey(k))
		}
		if lang != "en" {
			for _, k := range kindsNamed(t) {
				if w["kind."+k] == "" {
					t.Errorf("%s.json has no words for the kind %q", lang, k)
				}
			}
			for _, k := range kindsNamed(t) {
				delete(w, "kind."+k)
			}
			for known := range words.SystemErrors() {
				delete(w, "system."+known)
			}
			for code := range sentencesSaid(t) {
				delete(w, "said."+code)
			}
		}
		for key, text := range w {
			if !used[key] {
				t.Errorf("%s.json has %q, which nothing asks for", lang, key)
			}
			if a, b := verbs(text), verbs(en[key]); a != b {
				t.Errorf("%s.json: %q has the places %q, English has %q", lang, key, a, b)
			}
		}
	}
}

// kindsNamed reads what the generators call their sounds from their source.
func kindsNamed(t *testing.T) []string {
	all := []string{"line-up tone", "switched on and off"}
	files, err := filepath.Glob("../../audio/source/*.go")
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^\t+\{name: "[a-z][^"]*".*$|manner = .*$`)
	word := regexp.MustCompile(`"([a-z][^"]*)"`)
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range line.FindAllString(string(data), -1) {
			for _, m := range word.FindAllStringSubmatch(l, -1) {
				all = append(all, m[1])
			}
		}
	}
	return all
}

var verbRE = regexp.MustCompile(`%[-+#0-9.]*[a-z%]|\{[a-z]+\}`)

func sorted(s string) string {
	parts := strings.Fields(s)
	slices.Sort(parts)
	return strings.Join(parts, " ")
}

func verbs(s string) string { return strings.Join(verbRE.FindAllString(s, -1), " ") }

// keysUsed are the keys that stand in the source as they are, and those that are
// put together from parts.
func keysUsed(t *testing.T) map[string]bool {
	t.Helper()
	used := wordsBuilt()
	used["language.name"] = true
	literal := regexp.MustCompile(`"([a-z_]+(?:\.[a-z0-9_]+)+)"`)
	notKeys := regexp.MustCompile(`"(field|monitor)\.|said\.(Errorf|New)\(|IsFault\(|\.(json|db|wav|jsonl|csv)"`)
	err := filepath.WalkDir("..", func(f string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(f, ".go") || strings.HasSuffix(f, "_test.go") || strings.Contains(f, "window") {
			return err
		}
		data, err := os.ReadFile(f)
		if err != nil {
			return err
		}
		for line := range strings.Lines(string(data)) {
			if notKeys.MatchString(line) {
				continue
			}
			for _, m := range literal.FindAllStringSubmatch(line, -1) {
				used[m[1]] = true
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	pages := regexp.MustCompile(`"((?:book|board|language)\.[a-z0-9_]*[a-z0-9])"`)
	err = filepath.WalkDir("../../drills/class", func(f string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasSuffix(f, "_test.go") {
			return err
		}
		data, err := os.ReadFile(f)
		for _, m := range pages.FindAllStringSubmatch(string(data), -1) {
			if !slices.Contains([]string{"board.js", "board.css", "board.gohtml"}, m[1]) { // files
				used[m[1]] = true
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return used
}

// wordsBuilt are the keys that are put together from parts.
func wordsBuilt() map[string]bool {
	used := map[string]bool{}
	for _, f := range append(source.Generated(), "any", source.Own) {
		used["family."+string(f)] = true
	}
	for _, f := range source.Generated() {
		used["short."+string(f)] = true
	}
	for _, r := range store.RigChoices {
		used["rig."+r] = true
	}
	for _, u := range []drills.Unit{drills.UnitDB, drills.UnitVU, drills.UnitPercent, drills.UnitPerSecond} {
		used["unit."+string(u)] = true
	}
	for _, d := range drills.Drills() {
		used["drill."+d.ID] = true
		used["explain."+strings.ReplaceAll(d.ID, "-", "_")] = true
	}
	for _, c := range []progress.Code{progress.Begin, progress.TooHot, progress.TooCold, progress.Uneven, progress.Rusty, progress.Unknown, progress.Missed, progress.Onward} {
		used["advice."+string(c)] = true
	}
	for _, c := range []progress.RemarkCode{progress.RowHot, progress.RowCold, progress.RowRight, progress.Back} {
		used["remark."+string(c)] = true
	}
	for _, by := range []drills.Decider{drills.ByNeedle, drills.ByPeaks, drills.ByLamp} {
		used["book.decided_"+string(by)] = true
	}
	for _, mark := range []string{"right", "wrong", "clipped", "hot", "cold"} {
		used["book.mark_"+mark] = true
	}
	for _, kind := range []string{"damaged", "changed", "double", "copy", "doubt"} {
		used["book.kind_"+kind] = true
	}
	for _, th := range []string{store.ThemeSlate, store.ThemePaper} {
		used["theme."+th] = true
	}
	for _, kind := range drills.OddKinds() {
		used["odd."+string(kind)] = true
	}
	for _, length := range []string{store.LengthShort, store.LengthNormal, store.LengthLong} {
		used["practice."+length] = true
	}
	for _, when := range []string{store.FeedbackEvery, store.FeedbackThird, store.FeedbackEnd} {
		used["feedback."+when] = true
	}
	for _, row := range store.SettingsTable {
		used["settings."+row.Key] = true
	}
	for _, row := range practice.NewDraft().Rows(&words.Speech{}) {
		used["sheet."+row.Key] = true
	}
	for screen := range words.Helped {
		used["help.of."+screen] = true
		for _, p := range words.HelpParts(screen) {
			used[p] = true
		}
	}
	for _, what := range []string{"drill", "family", "rig"} {
		used["home."+what] = true
	}
	return used
}
