package words_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"regexp"
	"testing"

	"slowneedle/assets"
	"slowneedle/drills"
	"slowneedle/game/words"
)

var update = flag.Bool("update", false, "write assets/translate.en.json again")

// TestEnglishForTranslators holds assets/translate.en.json to the program: every
// text a language has, in English, under the key that language has it under. The
// sentences that the rooms below say stand in their Go source alone, so en.json is
// only half of it. Run with -update when it is stale.
func TestEnglishForTranslators(t *testing.T) {
	all, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	quoted, whole := regexp.MustCompile(`%q`), regexp.MustCompile(`%[wv]`)
	for code, text := range sentencesSaid(t) {
		all["said."+code] = whole.ReplaceAllString(quoted.ReplaceAllString(text, "“%s”"), "%s")
	}
	for key, text := range drills.English {
		all[words.VerdictKey(key)] = text
	}
	for _, kind := range kindsNamed(t) {
		all["kind."+kind] = kind
	}
	for code, english := range words.SystemErrors() {
		all["system."+code] = english
	}
	var want bytes.Buffer
	enc := json.NewEncoder(&want)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(all); err != nil {
		t.Fatal(err)
	}
	const path = "../../assets/translate.en.json"
	if *update {
		if err := os.WriteFile(path, want.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(got, want.Bytes()) {
		t.Errorf("%s is stale (%v); write it again: go test ./game/words -run TestEnglishForTranslators -update", path, err)
	}
}
