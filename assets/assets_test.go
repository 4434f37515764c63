package assets

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"testing"
)

func TestEveryLanguageLoads(t *testing.T) {
	all := Languages()
	if len(all) == 0 {
		t.Fatal("no language at all")
	}
	for _, l := range all {
		w, err := Load(l)
		if err != nil {
			t.Error(err)
			continue
		}
		if w.Get("language.name") == "language.name" {
			t.Errorf("%s.json does not say how the language calls itself", l)
		}
	}
	if _, err := Load("xx"); err == nil {
		t.Error("a language without a file loads")
	}
	if got := (Words{}).Get("a.gap"); got != "a.gap" {
		t.Errorf("a gap shows as %q, want its key", got)
	}
}

// Of two words under one key the second would win without a word.
func TestNoKeyTwice(t *testing.T) {
	for _, lang := range []string{"en", "de"} {
		data, err := os.ReadFile("words/" + lang + ".json")
		if err != nil {
			t.Fatal(err)
		}
		dec := json.NewDecoder(bytes.NewReader(data))
		seen := map[string]bool{}
		for i := 0; ; i++ { // the brace, then keys and texts in turn
			token, err := dec.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if key, ok := token.(string); ok && i%2 == 1 {
				if seen[key] {
					t.Errorf("%s.json has %q twice", lang, key)
				}
				seen[key] = true
			}
		}
		if len(seen) < 100 {
			t.Errorf("%s.json: only %d keys were seen", lang, len(seen))
		}
	}
}
