//go:build !js

package game

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"

	"slowneedle/audio/said"
)

// loadSettings reads the settings from the user's configuration folder. A
// damaged file is set aside under a name that says so; the trainer goes on
// with the defaults and the error is one sentence for the screen.
func loadSettings() (settings, error) {
	return loadSettingsFrom(settingsPath())
}

func settingsPath() string {
	return filepath.Join(xdg.ConfigHome, "slowneedle", "settings.json")
}

func loadSettingsFrom(path string) (settings, error) {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return defaultSettings(), nil
	}
	if err != nil {
		return defaultSettings(), said.Errorf("settings.unreadable", "the settings cannot be read: %w", err)
	}
	s, err := readSettings(data)
	if err != nil {
		aside := path + ".damaged"
		if rerr := os.Rename(path, aside); rerr == nil {
			err = said.Errorf("settings.aside", "the settings file was damaged and is now %s", aside)
		}
		return s, err
	}
	return s, nil
}

// saveSettings writes the settings so that a reader sees the old or the new
// ones, never half of them.
func saveSettings(s settings) error {
	return saveSettingsTo(settingsPath(), s)
}

func saveSettingsTo(path string, s settings) error {
	if err := storeWhole(path, s.bytes()); err != nil {
		return said.Errorf("settings.not_kept", "the settings cannot be saved: %w", err)
	}
	return nil
}
