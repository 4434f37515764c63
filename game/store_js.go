package game

import (
	"bytes"
	"errors"
	"io"

	"slowneedle/audio/said"
	"slowneedle/game/page"
)

const (
	settingsKey = "slowneedle-settings"
	seriesKey   = "slowneedle-class"
)

// loadSettings reads the settings from the browser's storage. Damaged ones are
// set aside under a name that says so.
func loadSettings() (settings, error) {
	data := page.Load(settingsKey)
	if data == nil {
		return defaultSettings(), nil
	}
	s, err := readSettings(data)
	if err != nil {
		_ = page.Store(settingsKey+".damaged", data)
	}
	return s, err
}

// saveSettings stores the settings, where the browser stores anything.
func saveSettings(s settings) error {
	if err := page.Store(settingsKey, s.bytes()); err != nil && !errors.Is(err, page.ErrNoStorage) {
		return said.Errorf("settings.browser", "the settings cannot be saved: this browser stores nothing")
	}
	return nil
}

// loadSeries reads the class's rounds that were saved; none is no error.
func loadSeries() ([]byte, error) { return page.Load(seriesKey), nil }

// saveSeries saves the class's rounds.
func saveSeries(data []byte) error {
	switch err := page.Store(seriesKey, data); {
	case errors.Is(err, page.ErrNoStorage):
		return said.Errorf("class.browser_keeps_nothing", "this browser stores nothing for this page; leave it open until it is received")
	case err != nil:
		return said.Errorf("class.browser_full", "this browser has no space left for it; leave the page open until it is received")
	}
	return nil
}

// writeDocument gives a file to the browser as a download and returns its name.
func writeDocument(name string, data []byte) (string, error) {
	page.Download(name, data)
	return name, nil
}

// export gives a history to the browser as JSON lines and returns the file's
// name; the browser overwrites no other file.
func export(name string, lines, _ func(io.Writer) error) (string, error) {
	var b bytes.Buffer
	if err := lines(&b); err != nil {
		return "", err
	}
	return writeDocument(name+".jsonl", b.Bytes())
}
