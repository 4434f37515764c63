//go:build !js

// Package testfiles writes the files that tests of several rooms begin with: sheets on
// recordings, and series for a real desk. It keeps what tests write out of the user's own
// folders.
package testfiles

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/adrg/xdg"

	"slowneedle/audio"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/series"
)

// InOwnFolders runs the tests of a room in which the user's folders for data, settings and
// documents are empty ones, which are removed afterwards, and returns the exit status.
func InOwnFolders(m *testing.M) int {
	dir, err := os.MkdirTemp("", "slowneedle-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	for _, name := range []string{"XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_DOCUMENTS_DIR"} {
		os.Setenv(name, dir) // cannot fail: neither name nor value has a zero byte
	}
	xdg.Reload()
	return m.Run()
}

// Sheet makes a sheet of two rounds of a drill on two recordings of so many seconds, a WAV
// and a FLAC that sox writes into a folder.
func Sheet(t testing.TB, drill string, seconds int) (n sheet.Sheet, dir string) {
	t.Helper()
	dir = t.TempDir()
	n = sheet.New(4711)
	n.Drill, n.Rounds, n.Level = drill, 2, 3
	for _, name := range []string{"choir.wav", "drums.flac"} {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", "-R", "-n", "-r", "44100", "-b", "16", path, "synth", strconv.Itoa(seconds), "pinknoise", "tremolo", "0.7", "90").CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rec, err := sheet.Choose(name, data)
		if err != nil {
			t.Fatal(err)
		}
		n.Recordings = append(n.Recordings, rec)
	}
	n.Content = sheet.Folder(dir)
	return n, dir
}

// Series writes a series as a WAV and its answer sheet as another file.
func Series(t testing.TB, p series.Plan, wav, answers string) *series.Answers {
	t.Helper()
	w, err := wavfile.Create(wav, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	a, err := p.Write(w, nil)
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	a.File = filepath.Base(wav)
	data, err := json.Marshal(a)
	if err == nil {
		err = os.WriteFile(answers, data, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	return a
}
