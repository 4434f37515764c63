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
	inTurn(t)
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
	a.Screen("home")
	from := dragFrom(a)
	from.drop(wav)
	if e := a.Event("own"); e.Str("name") != filepath.Base(wav) {
		t.Errorf("the recording is called %q", e.Str("name"))
	}
	begins := func() {
		t.Helper()
		a.To("Return", "round")
		e := a.For("Return", "begin")
		if e.Str("family") != "own" {
			t.Errorf("a round of %q, want own", e.Str("family"))
		}
	}
	begins()
	a.Louder(1)

	// In the middle of the round: nothing of it is lost.
	from.drop(letter)
	if text := a.Notice("letter.txt"); !strings.Contains(text, "WAV") {
		t.Errorf("the letter: %q does not say what is wanted", text)
	}
	a.Screen("round")
	a.Shot("drop-letter")
	a.Louder(1)
	a.To("Return", "verdict")
	begins() // made from the recording still
	a.To("Escape", "home")

	from.drop(dir)
	a.Notice("only folders")

	// The journal goes out and comes in again.
	a.To("p", "progress")
	a.For("e", "notice")
	list, err := filepath.Glob(filepath.Join(a.home, "*.jsonl"))
	if err != nil || len(list) != 1 {
		t.Fatalf("exported %v %v, want one file", list, err)
	}
	from.drop(list[0])
	a.Notice("0 takes were added to your history; 1 was there already")
	a.To("x", "progress")
	a.For("Delete", "notice")
	from.drop(list[0])
	a.Notice("1 take was added to your history")
	a.To("Escape", "home")
	a.leave()

	// Given at the start it waits until the journal is open.
	b := start(t, options{home: a.home, display: "1280x800", args: []string{list[0]}})
	b.Notice("1 was there already")
}
