// Package assets embeds what the trainer shows besides what it draws: the
// words of the interface, one file a language, and the icon.
package assets

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"sort"
	"strings"
)

//go:embed words/*.json
var words embed.FS

// Words is the text of the interface in one language, by key.
type Words map[string]string

// Languages lists the languages there are words in, by their file names, in
// alphabetical order.
func Languages() []string {
	names, err := fs.Glob(words, "words/*.json")
	if err != nil {
		return nil
	}
	for i, n := range names {
		names[i] = strings.TrimSuffix(strings.TrimPrefix(n, "words/"), ".json")
	}
	sort.Strings(names)
	return names
}

// Load returns the words of a language. The error says which language has no
// file or whose file is damaged.
func Load(language string) (Words, error) {
	data, err := words.ReadFile("words/" + language + ".json")
	if err != nil {
		return nil, fmt.Errorf("assets: no words in language %q", language)
	}
	w := Words{}
	if err := json.Unmarshal(data, &w); err != nil {
		return nil, fmt.Errorf("assets: words/%s.json: %w", language, err)
	}
	return w, nil
}

// Get returns the text of a key; a key without text is returned itself, so
// that a gap shows.
func (w Words) Get(key string) string {
	if s, ok := w[key]; ok {
		return s
	}
	return key
}
