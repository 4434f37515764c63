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
	t.Parallel()
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
	a.notice("3 recordings are loaded")
	names := func(a *app, want int) {
		t.Helper()
		e := a.press("a", func() event { return a.screen("recordings") })
		if n := strings.Count(fmt.Sprint(e), "recording."); n != want {
			t.Errorf("%d recordings are listed, want %d", n, want)
		}
	}
	names(a, 3)
	a.shot("own-list")
	a.press("Return", func() event { return a.screen("round") })
	e := a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	if e.str("family") != "own" {
		t.Errorf("a round of %q, want own", e.str("family"))
	}
	a.press("Escape", func() event { return a.screen("home") })
	a.leave()

	b := start(t, options{home: a.home, size: "390x844"})
	b.screen("home")
	b.shot("own-home-phone")
	names(b, 3)
	b.shot("own-list-phone")
	b.press("BackSpace", func() event { return b.screen("recordings") })
	b.press("Escape", func() event { return b.screen("home") })
	names(b, 2)
	b.press("x", func() event { return b.screen("recordings") })
	b.shot("own-empty-phone")
	b.press("Escape", func() event { return b.screen("home") })
	b.leave()
	for _, f := range files {
		if out, err := exec.Command("sox", "--i", f).CombinedOutput(); err != nil {
			t.Errorf("%s is gone: %v %s", f, err, out)
		}
	}
}
