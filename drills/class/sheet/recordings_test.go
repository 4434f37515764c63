package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
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

// What a sheet's file may say of its recordings, at the ends of what it may.
func TestLimitsOfRecordings(t *testing.T) {
	hash := func(i int) string { return fmt.Sprintf("%064x", i) }
	some := func(n, passages int) (list []Recording) {
		for i := range n {
			list = append(list, Recording{Name: fmt.Sprint(i, ".wav"), SHA256: hash(i), Passages: make([]source.Place, passages)})
			for k := range passages {
				list[i].Passages[k] = source.Place{At: int64(k), Frames: 1}
			}
		}
		return list
	}
	one := func(change func(*Recording)) []Recording {
		list := some(1, 1)
		change(&list[0])
		return list
	}
	for _, row := range []struct {
		name string
		list []Recording
		says string // empty: it may be
	}{
		{"32 recordings of 8 passages", some(32, 8), ""},
		{"33 recordings", some(33, 1), "there are 33; a sheet has at most 32"},
		{"9 passages", some(2, 9), "[0].passages: there are 9; it may have 1 to 8"},
		{"no passage", some(1, 0), "[0].passages: there are 0"},
		{"a passage of no frames", one(func(r *Recording) { r.Passages[0].Frames = 0 }), "[0].passages[0]: it must lie inside"},
		{"a passage that begins too early", one(func(r *Recording) { r.Passages[0].At = -1 }), "[0].passages[0]"},
		{"a name of 200 bytes", one(func(r *Recording) { r.Name = strings.Repeat("x", 200) }), ""},
		{"a name of 201 bytes", one(func(r *Recording) { r.Name = strings.Repeat("x", 201) }), "is not the name of a file"},
		{"a hash of 63 digits", one(func(r *Recording) { r.SHA256 = r.SHA256[1:] }), "64 hexadecimal digits"},
		{"a name twice", append(some(1, 1), Recording{Name: "0.wav", SHA256: hash(7)}), "[1]: 0.wav is there twice"},
		{"a content twice", append(some(1, 1), Recording{Name: "7.wav", SHA256: hash(0)}), "[1]: 7.wav is there twice"},
	} {
		switch err := checkRecordings(row.list); {
		case row.says == "" && err != nil:
			t.Errorf("%s: %v", row.name, err)
		case row.says != "" && (err == nil || !strings.Contains(err.Error(), row.says)):
			t.Errorf("%s: got %v, want a sentence with %q", row.name, err, row.says)
		}
	}
}

// closable tells whether it was closed.
type closable struct {
	*strings.Reader
	closed *int
}

func (c closable) Close() error { *c.closed++; return nil }

// A recording is read through once, and handed out from its beginning; one that is another is
// closed and refused.
func TestChecked(t *testing.T) {
	sum := sha256.Sum256([]byte("the recording"))
	rec := Recording{Name: "choir.wav", SHA256: hex.EncodeToString(sum[:])}
	closed, text := 0, "another recording"
	content := Checked(func(Recording) (io.ReadSeekCloser, error) {
		if text == "" {
			return nil, errors.New("nobody answers")
		}
		return closable{strings.NewReader(text), &closed}, nil
	})
	if _, err := content(rec); err == nil || !strings.Contains(err.Error(), "choir.wav is not the recording that the sheet was made of") || closed != 1 {
		t.Errorf("another: %v, closed %d times", err, closed)
	}
	text = "the recording"
	for range 2 {
		f, err := content(rec)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := io.ReadAll(f); string(got) != text || err != nil || closed != 1 {
			t.Errorf("it reads %q, %v, closed %d times", got, err, closed)
		}
	}
	text = ""
	if _, err := content(rec); err == nil || err.Error() != "nobody answers" {
		t.Errorf("none: %v", err)
	}
}
