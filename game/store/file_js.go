package store

import (
	"bytes"
	"errors"
	"io"

	"slowneedle/audio/said"
	"slowneedle/game/page"
)

const seriesKey = "slowneedle-class"

// settingsAt is the key of the settings in the browser's storage.
func settingsAt() string { return "slowneedle-settings" }

// loadSettings reads the settings from the browser's storage. Damaged ones are
// renamed to .damaged.
func loadSettings(key string) (Settings, error) {
	data := page.Load(key)
	if data == nil {
		return DefaultSettings(), nil
	}
	s, err := readSettings(data)
	if err != nil {
		_ = page.Store(key+".damaged", data)
	}
	return s, err
}

// saveSettings stores the settings, where the browser stores anything.
func saveSettings(key string, s Settings) error {
	if err := page.Store(key, s.bytes()); err != nil && !errors.Is(err, page.ErrNoStorage) {
		return said.Errorf("settings.browser", "the settings cannot be saved: this browser has no space left for them")
	}
	return nil
}

// LoadSeries reads the class's rounds that were saved; none is no error.
func LoadSeries() ([]byte, error) { return page.Load(seriesKey), nil }

// SaveSeries saves the class's rounds.
func SaveSeries(data []byte) error {
	switch err := page.Store(seriesKey, data); {
	case errors.Is(err, page.ErrNoStorage):
		return said.Errorf("class.browser_keeps_nothing", "this browser stores nothing for this page; leave it open until it is received")
	case err != nil:
		return said.Errorf("class.browser_full", "this browser has no space left for it; leave the page open until it is received")
	}
	return nil
}

// WriteDocument gives a file to the browser as a download and returns its name.
func WriteDocument(name string, data []byte) (string, error) {
	page.Download(name, data)
	return name, nil
}

// Export gives a history to the browser as JSON lines and returns the file's
// name; the browser overwrites no other file.
func Export(name string, lines, _ func(io.Writer) error) (string, error) {
	var b bytes.Buffer
	if err := lines(&b); err != nil {
		return "", err
	}
	return WriteDocument(name+".jsonl", b.Bytes())
}
