//go:build !js

package store

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"

	"slowneedle/audio/said"
	"slowneedle/audio/wholefile"
)

// settingsAt is the file of the settings, in the user's configuration folder.
func settingsAt() string { return filepath.Join(xdg.ConfigHome, "slowneedle", "settings.json") }
func seriesPath() string { return filepath.Join(xdg.DataHome, "slowneedle", "class.json") }

// loadSettings reads the settings from a file. A damaged one is renamed to .damaged;
// the trainer goes on with the defaults and the error is one sentence for the screen.
func loadSettings(path string) (Settings, error) {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return DefaultSettings(), nil
	}
	if err != nil {
		return DefaultSettings(), said.Errorf("settings.unreadable", "the settings cannot be read: %w", err)
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

// saveSettings writes the settings.
func saveSettings(path string, s Settings) error {
	if err := write(path, s.bytes()); err != nil {
		return said.Errorf("settings.not_kept", "the settings cannot be saved: %w", err)
	}
	return nil
}

// LoadSeries reads the class's rounds that were saved; none is no error.
func LoadSeries() ([]byte, error) {
	data, err := os.ReadFile(seriesPath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	return data, nil
}

// SaveSeries saves the class's rounds.
func SaveSeries(data []byte) error { return write(seriesPath(), data) }

// write makes a file of data, and the folder it is in.
func write(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return wholefile.WriteBytes(path, 0o644, data)
}

// documents is the user's documents folder, or their home.
func documents() string {
	if _, err := os.Stat(xdg.UserDirs.Documents); err != nil {
		return xdg.Home
	}
	return xdg.UserDirs.Documents
}

// WriteDocument writes a file into the user's documents and returns where.
func WriteDocument(name string, data []byte) (string, error) {
	path := filepath.Join(documents(), name)
	return path, write(path, data)
}

// Export writes a history as JSON lines and as CSV into the user's documents,
// beside earlier exports, and returns where.
func Export(name string, lines, table func(io.Writer) error) (string, error) {
	linesPath, tablePath := exportPaths(documents(), name)
	err := wholefile.Write(linesPath, 0o644, lines)
	if err == nil {
		err = wholefile.Write(tablePath, 0o644, table)
	}
	return linesPath + ", " + filepath.Base(tablePath), err
}

// exportPaths returns two paths in a folder at which there is nothing yet: an
// earlier export of the day may be all that is left of a history.
func exportPaths(dir, name string) (lines, table string) {
	for i := 1; ; i++ {
		path := filepath.Join(dir, name)
		if i > 1 {
			path = fmt.Sprintf("%s-%d", path, i)
		}
		_, noLines := os.Lstat(path + ".jsonl")
		_, noTable := os.Lstat(path + ".csv")
		if noLines != nil && noTable != nil {
			return path + ".jsonl", path + ".csv"
		}
	}
}
