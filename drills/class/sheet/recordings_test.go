package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio/source"
)

// What is fetched is asked for once, again if it was another recording or none came, and
// each who opens it reads it from its beginning.
func TestFetched(t *testing.T) {
	sum := sha256.Sum256([]byte("the recording"))
	rec := Recording{Name: "choir.wav", SHA256: hex.EncodeToString(sum[:])}
	asked := 0
	content := Fetched(func(Recording) ([]byte, error) {
		switch asked++; asked {
		case 1:
			return nil, errors.New("nobody answers")
		case 2:
			return []byte("another recording"), nil
		}
		return []byte("the recording"), nil
	})
	for _, says := range []string{"nobody answers", "choir.wav is not the recording that the sheet was made of"} {
		if _, err := content(rec); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
	for range 3 {
		f, err := content(rec)
		if err != nil {
			t.Fatal(err)
		}
		if text, err := io.ReadAll(f); string(text) != "the recording" || err != nil {
			t.Errorf("it reads %q, %v", text, err)
		}
		f.Close()
	}
	if asked != 3 {
		t.Errorf("it was asked for %d times, want 3", asked)
	}
}

// Recordings take turns, and the seed chooses one of the passages.
func TestPassages(t *testing.T) {
	dir := t.TempDir()
	n := New(1)
	for i, name := range []string{"choir.wav", "drums.wav"} {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", "-R", "-n", "-r", "48000", "-b", "16", path, "synth", strconv.Itoa(12+i), "pinknoise").CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		// So short a recording is taken whole: there is but one passage to choose.
		if one, err := Choose(name, data); err != nil || len(one.Passages) != 1 || one.Passages[0].Frames != int64(12+i)*48000 {
			t.Errorf("of %s %v are chosen, %v", name, one.Passages, err)
		}
		sum := sha256.Sum256(data)
		rec := Recording{Name: name, SHA256: hex.EncodeToString(sum[:])}
		for k := range int64(3) {
			rec.Passages = append(rec.Passages, source.Place{At: 48000, Frames: (7+k)*48000 + int64(i)*24000})
		}
		n.Recordings = append(n.Recordings, rec)
	}
	n.Content = Folder(dir)
	passages := n.passages(nil)
	for turn := range 4 {
		for seed := range uint64(6) {
			rec := n.Recordings[turn%2]
			sound, err := passages(turn, seed)
			if err != nil {
				t.Fatal(err)
			}
			// A loop is as long as its passage, less the 50 ms of its seam.
			if want := int(rec.Passages[seed%3].Frames) - 2400; sound.Kind != rec.Name || sound.Len() != want {
				t.Errorf("turn %d, seed %d: %d frames of %s, want %d of %s", turn, seed, sound.Len(), sound.Kind, want, rec.Name)
			}
		}
	}
}

// A recording beyond what a sheet may have is refused before it is read.
func TestLargeRecording(t *testing.T) {
	if _, err := Choose("choir.wav", make([]byte, MaxRecording+1)); err == nil || !strings.Contains(err.Error(), "choir.wav has 64 MB; a recording of a sheet has at most 64") {
		t.Errorf("%v", err)
	}
}
