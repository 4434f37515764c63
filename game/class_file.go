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

// handInFiles says whether a hand-in is written to a file by itself.
const handInFiles = true

func seriesPath() string { return filepath.Join(xdg.DataHome, "slowneedle", "class.json") }

// loadSeries reads the series that was kept; none is no error.
func loadSeries() ([]byte, error) {
	data, err := os.ReadFile(seriesPath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	return data, nil
}

// storeSeries keeps the series whole or not at all.
func storeSeries(data []byte) error { return storeWhole(seriesPath(), data) }

// writeDocument writes a file into the user's documents, or their home, and
// returns where.
func writeDocument(name string, data []byte) (string, error) {
	dir := xdg.UserDirs.Documents
	if _, err := os.Stat(dir); err != nil {
		dir = xdg.Home
	}
	path := filepath.Join(dir, name)
	return path, storeWhole(path, data)
}
