package window

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// What is dropped on the window: a recording makes the next rounds, a letter
// gets one sentence and loses nothing, an exported journal is taken in, a
// folder is none of these.
func TestDrops(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	wav := filepath.Join(dir, "evening class, 50 % für alle.wav") // as people name files
	if out, err := exec.Command("sox", "-n", "-r", "44100", "-c", "2", "-b", "24", wav, "synth", "20", "pluck", "C3", "tremolo", "2", "gain", "-9").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	letter := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(letter, []byte("this is a letter, not a recording"), 0o644); err != nil {
		t.Fatal(err)
	}
	a := start(t, options{settings: calm})
	a.screen("home")
	from := dragFrom(a)
	from.drop(wav)
	if e := a.next("the recording", func(e event) bool { return e.is("own") }); e.str("name") != filepath.Base(wav) {
		t.Errorf("the recording is called %q", e.str("name"))
	}
	begins := func() {
		t.Helper()
		a.press("Return", func() event { return a.screen("round") })
		e := a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
		if e.str("family") != "own" {
			t.Errorf("a round of %q, want own", e.str("family"))
		}
	}
	begins()
	a.up()

	// In the middle of the round: nothing of it is lost.
	from.drop(letter)
	if text := a.notice("letter.txt"); !strings.Contains(text, "WAV") {
		t.Errorf("the letter: %q does not say what is wanted", text)
	}
	a.screen("round")
	a.shot("drop-letter")
	a.up()
	a.press("Return", func() event { return a.screen("verdict") })
	begins() // made from the recording still
	a.press("Escape", func() event { return a.screen("home") })

	from.drop(dir)
	a.notice("only folders")

	// The journal goes out and comes in again.
	a.press("p", func() event { return a.screen("progress") })
	a.press("e", func() event { return a.next("where it is", func(e event) bool { return e.is("notice") }) })
	list, err := filepath.Glob(filepath.Join(a.home, "*.jsonl"))
	if err != nil || len(list) != 1 {
		t.Fatalf("exported %v %v, want one file", list, err)
	}
	from.drop(list[0])
	a.notice("0 takes were added to your history; 1 was there already")
	a.press("x", func() event { return a.screen("progress") })
	a.press("Delete", func() event { return a.next("a sentence", func(e event) bool { return e.is("notice") }) })
	from.drop(list[0])
	a.notice("1 take was added to your history")
	a.press("Escape", func() event { return a.screen("home") })
	a.leave()

	// Given at the start it waits until the journal is open.
	b := start(t, options{home: a.home, display: "1280x800", args: []string{list[0]}})
	b.notice("1 was there already")
}
