package window

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The learner's own recordings, WAV and FLAC, are listed, practised on, kept from one start to
// the next, taken off the list and all forgotten; the files stay where they are.
func TestOwnRecordings(t *testing.T) {
	inTurn(t)
	dir := t.TempDir()
	var files []string
	for _, name := range []string{"Kellerprobe, zweiter Durchgang.wav", "choir on the stairs.flac", "drums.flac"} {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", "-R", "-n", "-r", "44100", "-b", "16", path, "synth", "30", "pinknoise", "tremolo", "3", "80").CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		files = append(files, path)
	}
	a := start(t, options{settings: calm, args: files})
	a.Notice("3 recordings are loaded")
	names := func(a *app, want int) {
		t.Helper()
		e := a.To("a", "recordings")
		if n := strings.Count(fmt.Sprint(e), "recording."); n != want {
			t.Errorf("%d recordings are listed, want %d", n, want)
		}
	}
	names(a, 3)
	a.Shot("own-list")
	a.To("Return", "round")
	e := a.For("Return", "begin")
	if e.Str("family") != "own" {
		t.Errorf("a round of %q, want own", e.Str("family"))
	}
	a.To("Escape", "home")
	a.leave()

	b := start(t, options{home: a.home, size: "390x844"})
	b.Screen("home")
	b.Shot("own-home-phone")
	names(b, 3)
	b.Shot("own-list-phone")
	b.To("BackSpace", "recordings")
	b.To("Escape", "home")
	names(b, 2)
	b.To("x", "recordings")
	b.Shot("own-empty-phone")
	b.To("Escape", "home")
	b.leave()
	for _, f := range files {
		if out, err := exec.Command("sox", "--i", f).CombinedOutput(); err != nil {
			t.Errorf("%s is gone: %v %s", f, err, out)
		}
	}
}
