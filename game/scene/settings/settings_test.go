//go:build linux

package settings

import (
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	_ "slowneedle/game/display/checked"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
	"slowneedle/game/words"
)

// A sound server that takes the connection and never answers holds up no frame: the
// inputs are listed beside, what went wrong comes later, and steps taken meanwhile count.
func TestInputsAreListedBeside(t *testing.T) {
	dir, err := os.MkdirTemp("", "slow") // for a socket's short path
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	socket := filepath.Join(dir, "native")
	server, err := net.Listen("unix", socket)
	if err != nil {
		t.Fatal(err)
	}
	defer server.Close()
	t.Setenv("PULSE_SERVER", "unix:"+socket)

	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	screen := widget.NewScreen(w, func(string, map[string]any) {})
	prefs := store.NewKeeper(store.DefaultSettings(), screen.Redraw)
	prefs.Input, prefs.InputName = "line", "Line 1"
	s := &Scene{Base: scene.Base{Screen: screen}, Prefs: prefs}
	row := slices.IndexFunc(store.SettingsTable, func(r store.Setting) bool { return r.Key == "input" })
	s.change(row, 1)
	s.change(row, 1)
	if screen.Update(); s.Notice != "" || prefs.Input != "line" || s.at != row {
		t.Errorf("at once: %q is told, the input is %q", s.Notice, prefs.Input)
	}
	for end := time.Now().Add(time.Minute); s.asking; screen.Update() { // the screen may be another's by then
		if time.Now().After(end) {
			t.Fatal("it is not given up")
		}
	}
	if !strings.Contains(s.Notice, "sound server") || prefs.Input != "" {
		t.Errorf("after it was given up: %q is told, the input is %q", s.Notice, prefs.Input)
	}
}
