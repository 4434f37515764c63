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

// Content opens recordings, each to be closed after use. The error says that one is not
// there, or is another.
type Content func(Recording) (io.ReadSeekCloser, error)

// passages are what drills.Settings asks for: recordings take turns, and a seed chooses one
// of the passages.
func (s Sheet) passages(pause func()) func(turn int, seed uint64) (*source.Sound, error) {
	return func(turn int, seed uint64) (*source.Sound, error) {
		if len(s.Recordings) == 0 || s.Content == nil {
			return nil, errNoRecordings
		}
		rec := s.Recordings[turn%len(s.Recordings)]
		f, err := s.Content(rec)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		r, err := rec.read(f)
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
	r, err := rec.read(bytes.NewReader(data))
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
func (r Recording) read(from io.ReadSeeker) (*wavfile.Reader, error) {
	w, err := wavfile.NewReader(from)
	if err != nil {
		return nil, said.Errorf("named", "%s: %w", r.Name, err)
	}
	return w, nil
}

// Folder is the Content of recordings in a folder, where they have their names.
func Folder(dir string) Content {
	return Checked(func(r Recording) (io.ReadSeekCloser, error) {
		f, err := os.Open(filepath.Join(dir, r.Name))
		if errors.Is(err, fs.ErrNotExist) {
			err = said.Errorf("sheet.missing_recording", "%s, which the sheet is made of, is not in %s; put the teacher's file there", r.Name, dir)
		}
		return f, err
	})
}

// Checked is the Content of recordings that open opens, each of which is read through
// once, to see that it is the one that the sheet was made of.
func Checked(open Content) Content {
	var known sync.Map // by their SHA-256
	return func(r Recording) (io.ReadSeekCloser, error) {
		f, err := open(r)
		if err != nil {
			return nil, err
		}
		if _, ok := known.Load(r.SHA256); ok {
			return f, nil
		}
		sum := sha256.New()
		if _, err = io.Copy(sum, io.LimitReader(f, MaxRecording+1)); err == nil {
			_, err = f.Seek(0, io.SeekStart)
		}
		if err == nil {
			err = r.is([32]byte(sum.Sum(nil)))
		}
		if err != nil {
			f.Close()
			return nil, err
		}
		known.Store(r.SHA256, true)
		return f, nil
	}
}

// Fetched is the Content of recordings that get returns whole. It is asked once for each,
// and they stay in memory.
func Fetched(get func(Recording) ([]byte, error)) Content {
	var mu sync.Mutex
	known := map[string][]byte{}
	return func(r Recording) (io.ReadSeekCloser, error) {
		mu.Lock()
		defer mu.Unlock()
		data, ok := known[r.SHA256]
		if !ok {
			var err error
			if data, err = get(r); err != nil {
				return nil, err
			}
			if err := r.is(sha256.Sum256(data)); err != nil {
				return nil, err
			}
			known[r.SHA256] = data
		}
		return memory{bytes.NewReader(data)}, nil
	}
}

// is returns an error if a recording that has this hash is another.
func (r Recording) is(sum [sha256.Size]byte) error {
	if hex.EncodeToString(sum[:]) != r.SHA256 {
		return said.Errorf("sheet.other_recording", "%s is not the recording that the sheet was made of; take the teacher's file", r.Name)
	}
	return nil
}

// memory is a recording in memory.
type memory struct{ *bytes.Reader }

func (memory) Close() error { return nil }
