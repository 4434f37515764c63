package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"strings"
	"testing"
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

// A recording beyond what a sheet may have is refused before it is read.
func TestLargeRecording(t *testing.T) {
	if _, err := Choose("choir.wav", make([]byte, MaxRecording+1)); err == nil || !strings.Contains(err.Error(), "choir.wav has 64 MB; a recording of a sheet has at most 64") {
		t.Errorf("%v", err)
	}
}
