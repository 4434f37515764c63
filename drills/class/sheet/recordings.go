package sheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"unicode"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
)

// What a sheet on recordings may have.
const (
	MaxRecordings = 32
	MaxPassages   = 8        // of one
	MaxRecording  = 64 << 20 // bytes
)

// Recording is one of a teacher's that the rounds of a sheet are passages of.
type Recording struct {
	Name     string         `json:"name"` // of the file
	SHA256   string         `json:"sha256"`
	Passages []source.Place `json:"passages"`
}

// checkRecordings returns nil for recordings that a sheet may have, or which is wrong.
func checkRecordings(list []Recording) error {
	if len(list) > MaxRecordings {
		return fmt.Errorf("there are %d; a sheet has at most %d", len(list), MaxRecordings)
	}
	seen := map[string]bool{}
	for i, r := range list {
		switch {
		case len(r.Name) > 200 || r.Name == "." || !filepath.IsLocal(r.Name) || strings.ContainsAny(r.Name, `/\`) ||
			strings.ContainsFunc(r.Name, func(c rune) bool { return !unicode.IsPrint(c) }):
			return fmt.Errorf("[%d].name: %.60q is not the name of a file", i, r.Name)
		case len(r.SHA256) != 64 || strings.Trim(r.SHA256, "0123456789abcdef") != "":
			return fmt.Errorf("[%d].sha256: it must be 64 hexadecimal digits", i)
		case seen[r.Name] || seen[r.SHA256]:
			return fmt.Errorf("[%d]: %s is there twice", i, r.Name)
		case len(r.Passages) == 0 || len(r.Passages) > MaxPassages:
			return fmt.Errorf("[%d].passages: there are %d; it may have 1 to %d", i, len(r.Passages), MaxPassages)
		}
		for k, p := range r.Passages {
			if p.At < 0 || p.Frames <= 0 {
				return fmt.Errorf("[%d].passages[%d]: it must lie inside the recording", i, k)
			}
		}
		seen[r.Name], seen[r.SHA256] = true, true
	}
	return nil
}

// errNoRecordings is the error of rounds whose recordings are not at hand.
var errNoRecordings = said.Errorf("sheet.no_recordings", "sheet: its rounds are made of recordings that are not here; join at the class server, or open the sheet's folder")

// passages are what drills.Settings asks for: recordings take turns, and a seed chooses one
// of the passages.
func (s Sheet) passages(pause func()) func(turn int, seed uint64) (*source.Sound, error) {
	return func(turn int, seed uint64) (*source.Sound, error) {
		if len(s.Recordings) == 0 || s.Content == nil {
			return nil, errNoRecordings
		}
		rec := s.Recordings[turn%len(s.Recordings)]
		data, err := s.Content(rec)
		if err != nil {
			return nil, err
		}
		r, err := rec.read(data)
		if err != nil {
			return nil, err
		}
		return source.Cut(r, rec.Name, rec.Passages[seed%uint64(len(rec.Passages))], pause)
	}
}

// Choose describes a recording and chooses passages of it. The error says why none can be
// used.
func Choose(name string, data []byte) (Recording, error) {
	sum := sha256.Sum256(data)
	rec := Recording{Name: name, SHA256: hex.EncodeToString(sum[:])}
	if len(data) > MaxRecording {
		return rec, said.Errorf("sheet.large_recording", "%s has %d MB; a recording of a sheet has at most %d: cut it, or save it as FLAC", name, len(data)>>20, MaxRecording>>20)
	}
	r, err := rec.read(data)
	if err != nil {
		return rec, err
	}
	seen := map[source.Place]bool{}
	for seed := range uint64(MaxPassages) {
		at, err := source.Choose(r, name, seed, nil)
		if err != nil {
			return rec, err
		}
		if !seen[at] {
			rec.Passages = append(rec.Passages, at)
		}
		seen[at] = true
	}
	return rec, nil
}

// read opens a recording from its content.
func (r Recording) read(data []byte) (*wavfile.Reader, error) {
	w, err := wavfile.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, said.Errorf("named", "%s: %w", r.Name, err)
	}
	return w, nil
}

// Folder returns the content of recordings from a folder, where they have their names. The
// error says that one is missing, or is another.
func Folder(dir string) func(Recording) ([]byte, error) {
	return Kept(func(r Recording) ([]byte, error) {
		f, err := os.Open(filepath.Join(dir, r.Name))
		if errors.Is(err, fs.ErrNotExist) {
			return nil, said.Errorf("sheet.missing_recording", "%s, which the sheet is made of, is not in %s; put the teacher's file there", r.Name, dir)
		}
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return io.ReadAll(io.LimitReader(f, MaxRecording+1))
	})
}

// Kept returns the content of recordings that get returns, which is asked for once for
// each. The error is that of get, or that this is another recording.
func Kept(get func(Recording) ([]byte, error)) func(Recording) ([]byte, error) {
	var mu sync.Mutex
	known := map[string][]byte{}
	return func(r Recording) ([]byte, error) {
		mu.Lock()
		defer mu.Unlock()
		if data, ok := known[r.SHA256]; ok {
			return data, nil
		}
		data, err := get(r)
		if err != nil {
			return nil, err
		}
		if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != r.SHA256 {
			return nil, said.Errorf("sheet.other_recording", "%s is not the recording that the sheet was made of; take the teacher's file", r.Name)
		}
		known[r.SHA256] = data
		return data, nil
	}
}
