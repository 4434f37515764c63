//go:build !js

package game

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/adrg/xdg"

	"slowneedle/audio/said"
)

func settingsPath() string { return filepath.Join(xdg.ConfigHome, "slowneedle", "settings.json") }
func seriesPath() string   { return filepath.Join(xdg.DataHome, "slowneedle", "class.json") }

// loadSettings reads the settings from the user's configuration folder. A
// damaged file is set aside under a name that says so; the trainer goes on
// with the defaults and the error is one sentence for the screen.
func loadSettings() (settings, error) { return loadSettingsFrom(settingsPath()) }

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
			err = said.Errorf("settings.aside", "the settings file was damaged and is kept as %s", aside)
		}
		return s, err
	}
	return s, nil
}

// saveSettings writes the settings so that a reader sees the old or the new
// ones, never half of them.
func saveSettings(s settings) error { return saveSettingsTo(settingsPath(), s) }

func saveSettingsTo(path string, s settings) error {
	if err := storeWhole(path, s.bytes()); err != nil {
		return said.Errorf("settings.not_kept", "the settings cannot be kept: %w", err)
	}
	return nil
}

// loadSeries reads the class's rounds that were kept; none is no error.
func loadSeries() ([]byte, error) {
	data, err := os.ReadFile(seriesPath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, said.Errorf("class.unreadable", "the class's rounds that were kept cannot be read: %w", err)
	}
	return data, nil
}

// storeSeries keeps the class's rounds whole or not at all.
func storeSeries(data []byte) error { return storeWhole(seriesPath(), data) }

// writeDocument writes a new file into the user's documents, or their home, and
// returns where: under another name if there is a file of this one already.
func writeDocument(name string, write func(io.Writer) error) (string, error) {
	dir := xdg.UserDirs.Documents
	if _, err := os.Stat(dir); err != nil {
		dir = xdg.Home
	}
	return writeNew(dir, name, write)
}

// writeNew writes a file of a name, or of the name with a number behind it, that
// is not there yet.
func writeNew(dir, name string, write func(io.Writer) error) (string, error) {
	ext := filepath.Ext(name)
	for n := 1; ; n++ {
		path := filepath.Join(dir, name)
		if n > 1 {
			path = filepath.Join(dir, strings.TrimSuffix(name, ext)+"-"+strconv.Itoa(n)+ext)
		}
		err := writeWhole(path, 0o644, putNew, write)
		if !errors.Is(err, fs.ErrExist) {
			return path, err
		}
	}
}

// putNew gives a file its name, if there is none of that name.
func putNew(from, to string) error {
	if err := os.Link(from, to); err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	if _, err := os.Lstat(to); err == nil { // a disk without links
		return fs.ErrExist
	}
	return os.Rename(from, to)
}

// storeWhole makes a file of data, and the folder it is in.
func storeWhole(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return writeWhole(path, 0o600, os.Rename, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// writeWhole makes a file that is complete or not there, after a power failure
// too. It is written under another name first and then put in its place:
// os.Rename replaces what is there, putNew refuses to.
func writeWhole(path string, mode fs.FileMode, put func(from, to string) error, write func(io.Writer) error) error {
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, ".slowneedle-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // what os.Rename has left of it: nothing
	err = write(f)
	if err == nil {
		err = f.Chmod(mode)
	}
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = put(f.Name(), path)
	}
	if err != nil {
		return err
	}
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync() // not every system can
		d.Close()
	}
	return nil
}
