package game

import (
	"math"
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
			text := w[verdictKey(k)]
			if lang != "en" && sorted(verbs(text)) != sorted(verbs(english)) {
				t.Errorf("%s.json: %q has the places %q, English has %q", lang, verdictKey(k), verbs(text), verbs(english))
			}
			delete(w, verdictKey(k))
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
			for _, known := range systemSays {
				delete(w, "system."+known.code)
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
	files, err := filepath.Glob("../audio/source/*.go")
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^\t\t\{"[a-z][^"]*", \d.*$|manner = .*$`)
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

func keysUsed(t *testing.T) map[string]bool {
	used := map[string]bool{"language.name": true}
	literal := regexp.MustCompile(`"([a-z_]+(?:\.[a-z0-9_]+)+)"`)
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(data), "\n") {
			if !strings.Contains(line, "say(") && !strings.Contains(line, `cap: "`) && !strings.Contains(line, "word") && !strings.Contains(line, `:= "`) && !strings.Contains(line, `= "`) && !strings.Contains(line, "parts") {
				continue
			}
			for _, m := range literal.FindAllStringSubmatch(line, -1) {
				used[m[1]] = true
			}
		}
	}
	for k := range wordsBuilt() {
		used[k] = true
	}
	return used
}

// wordsBuilt are the keys that are put together from parts.
func wordsBuilt() map[string]bool {
	used := map[string]bool{}
	for _, f := range append(source.Generated(), "any", source.Own) {
		used["family."+string(f)] = true
	}
	for _, r := range []string{rigDrawn, rigDigital, rigTape, rigMine} {
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
	for _, s := range []string{"left", "right", "tone"} {
		used[sideKey(s)] = true
	}
	for _, th := range []string{slate.name, paper.name} {
		used["theme."+th] = true
	}
	g := &Game{set: defaultSettings()}
	for _, row := range g.settingRows() {
		used["settings."+row.id] = true
	}
	for _, s := range []scene{&homeScene{}, &playScene{}, &verdictScene{}, &settingsScene{}, &progressScene{}, &cautionScene{}, &tourScene{}, &roomScene{}, &joinScene{}, &sheetScene{}, &handInScene{}} {
		used["help.of."+s.name()] = true
		for _, p := range helpParts(s.name()) {
			used[p] = true
		}
	}
	return used
}

func TestNumbers(t *testing.T) {
	w, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	s := speech{w}
	for _, c := range []struct{ got, want string }{
		{s.signed(1.84, 1), "+1.8"}, {s.signed(-7.4, 1), "−7.4"}, {s.signed(-0.04, 1), "0.0"}, {s.signed(0.04, 1), "0.0"},
		{s.short(-18), "−18"}, {s.short(-18.5), "−18.5"}, {s.shortSigned(6), "+6"}, {s.shortSigned(0), "0"},
		{s.number(math.NaN(), 1), "none"}, {s.number(math.Inf(-1), 1), "none"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// One thing is not many, in every language; the number before a word decides.
func TestOneAndMany(t *testing.T) {
	for lang, rows := range map[string][][2]string{
		"en": {{"1 take · all · any", "3 takes · all · any"}, {"1 take was added to the journal; 1 was there already.", "3 takes were added to the journal; 0 were there already."}, {"1 sample", "3 samples"},
			{"Locked: 0 of 1 round; the next one follows.", "Locked: 1 of 8 rounds; the next one follows."}, {"1 day.", "12 days."}},
		"de": {{"1 Versuch · all · any", "3 Versuche · all · any"}, {"1 Versuch kam ins Tagebuch; 1 war schon da.", "3 Versuche kamen ins Tagebuch; 0 waren schon da."}, {"1 Abtastwert", "3 Abtastwerte"},
			{"Festgelegt: 0 von 1 Runde; die nächste folgt.", "Festgelegt: 1 von 8 Runden; die nächste folgt."}, {"seit 1 Tag nicht geübt.", "seit 12 Tagen nicht geübt."}},
	} {
		w, err := assets.Load(lang)
		if err != nil {
			t.Fatal(err)
		}
		s := speech{w}
		for i, got := range [][2]string{
			{s.say("progress.takes", 1, "all", "any"), s.say("progress.takes", 3, "all", "any")},
			{s.say("journal.imported", 1, 1), s.say("journal.imported", 3, 0)},
			{s.say("verdict.samples", 1), s.say("verdict.samples", int64(3))},
			{s.say("class.go_on_line", 0, 1), s.say("class.go_on_line", 1, 8)},
			{s.say("advice.rusty", "x", 1), s.say("advice.rusty", "x", 12)},
		} {
			if !strings.HasSuffix(got[0], rows[i][0]) || !strings.HasSuffix(got[1], rows[i][1]) {
				t.Errorf("%s: %q, want %q", lang, got, rows[i])
			}
		}
	}
}

// A figure and its unit do not part at the end of a line.
func TestWithUnits(t *testing.T) {
	for text, want := range map[string]string{
		"unter −4 dBFS: Ihre":                "unter|−4 dBFS:|Ihre",
		"300 ms to rise, 1 to 1.5 % beyond,": "300 ms|to|rise,|1|to|1.5 %|beyond,",
		"of 8 hours (−26,0 VU), s":           "of|8|hours|(−26,0 VU),|s",
		"dB":                                 "dB",
	} {
		if got := strings.Join(withUnits(strings.Fields(text)), "|"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
