// Package given is files that were given to the trainer: dropped on it, chosen, or named
// at its start. It tells what each is and reads it: a recording, an exported journal, a
// class's sheet, or the answer sheet of a series and what came back of that.
package given

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/journal"
	"slowneedle/game/page"
)

// File is a file that was given.
type File struct {
	Name string
	Path string // on the disk; empty in a browser, which gives none
	open func() (io.ReadSeeker, error)
}

// Kind is what a file is, as far as its name and its first field tell.
type Kind int

const (
	Recording  Kind = iota
	Journal         // exported
	ClassSheet      // of rounds on recordings
	Answers         // the answer sheet of a series
)

// maxInMemory is the largest recording taken from where files cannot be
// searched in, as in a browser.
const maxInMemory = 1 << 29

// New is a file that is nowhere on the disk.
func New(name string, open func() (io.ReadSeeker, error)) *File { return &File{Name: name, open: open} }

// At are the files at paths.
func At(paths ...string) (all []*File) {
	for _, path := range paths {
		name := filepath.Base(path)
		all = append(all, &File{Name: name, Path: path, open: func() (io.ReadSeeker, error) {
			f, err := os.Open(path)
			if err != nil {
				return nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
			}
			return f, nil
		}})
	}
	return all
}

// Dropped are the files that were dropped together. The error is why there are not more.
func Dropped(dropped fs.FS) (all []*File, err error) {
	entries, err := fs.ReadDir(dropped, ".")
	if err != nil {
		return nil, said.Errorf("own.drop", "what was dropped cannot be read: %w", err)
	}
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		f, err := drop(dropped, e.Name())
		if err != nil {
			return all, err
		}
		all = append(all, f)
	}
	if len(all) == 0 {
		err = said.Errorf("own.folders", "no file was dropped, only folders: drop WAV or FLAC files")
	}
	return all, err
}

// drop is a file that was dropped: on the disk or, in a browser, in memory.
func drop(dropped fs.FS, name string) (*File, error) {
	f, err := dropped.Open(name)
	if err != nil {
		return nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
	}
	defer f.Close()
	if disk, ok := f.(*os.File); ok {
		return At(disk.Name())[0], nil
	}
	data, err := io.ReadAll(io.LimitReader(f, maxInMemory))
	if err != nil {
		return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", name, err)
	}
	return New(name, func() (io.ReadSeeker, error) { return bytes.NewReader(data), nil }), nil
}

// Found reports whether it is still where it was.
func (f *File) Found() bool {
	if f.Path == "" {
		return true
	}
	_, err := os.Stat(f.Path)
	return err == nil
}

// reason is an error without the path that the sentence names already.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// shut closes what can be closed.
func shut(in io.ReadSeeker) {
	if c, ok := in.(io.Closer); ok {
		c.Close()
	}
}

// read returns what is in it, up to so many bytes.
func (f *File) read(most int64) ([]byte, error) {
	in, err := f.open()
	if err != nil {
		return nil, err
	}
	defer shut(in)
	data, err := io.ReadAll(io.LimitReader(in, most))
	if err != nil {
		return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", f.Name, reason(err))
	}
	return data, nil
}

// named puts a file's name before an error about what is in it.
func (f *File) named(err error) error {
	if err == nil {
		return nil
	}
	return said.Errorf("named", "%s: %w", f.Name, err)
}

// Kind tells what the file is; what is nothing else is taken for a recording.
func (f *File) Kind() Kind {
	switch strings.ToLower(filepath.Ext(f.Name)) {
	case ".jsonl", ".csv":
		return Journal
	case ".json":
		var head struct{ Format string }
		data, err := f.read(sheet.MaxFile + 1)
		if err == nil && json.NewDecoder(bytes.NewReader(data)).Decode(&head) == nil && head.Format == sheet.Format {
			return ClassSheet
		}
		return Answers
	}
	return Recording
}

// Sound opens it as sound.
func (f *File) Sound() (*wavfile.Reader, error) {
	in, err := f.open()
	if err != nil {
		return nil, err
	}
	w, err := wavfile.NewReader(in)
	if err != nil {
		shut(in)
		return nil, f.named(err)
	}
	return w, nil
}

// Try makes a passage of a recording, and tells what of it cannot be used; the code of
// the sentence is empty if there is nothing.
func (f *File) Try(seed uint64) (about said.Sentence, err error) {
	w, err := f.Sound()
	if err != nil {
		return about, err
	}
	defer w.Close()
	if _, err := source.FromRecording(w, f.Name, seed, page.Pauser()); err != nil {
		return about, err
	}
	if odd := w.Warnings(); len(odd) > 0 {
		return said.New("own.warned", "%s is loaded: %s", f.Name, odd[0]), nil
	}
	if seconds := int(w.Frames() / int64(w.Format().SampleRate)); seconds > source.MaxOwnSeconds {
		return said.New("own.long", "%s lasts %d {minute|minutes}; rounds are made of the first %d", f.Name, seconds/60, source.MaxOwnSeconds/60), nil
	}
	return about, nil
}

// Sheet reads a class's sheet, whose recordings are in the same folder.
func (f *File) Sheet() (*sheet.Sheet, error) {
	data, err := f.read(sheet.MaxFile + 1)
	if err != nil {
		return nil, err
	}
	n, err := sheet.Parse(data)
	n.Content = sheet.Folder(filepath.Dir(f.Path))
	return &n, f.named(err)
}

// ImportInto adds the takes of an exported journal to another.
func (f *File) ImportInto(j *journal.Journal) (journal.Imported, error) {
	if j == nil {
		return journal.Imported{}, said.Errorf("own.no_journal", "%s: there is no history to add it to", f.Name)
	}
	in, err := f.open()
	if err != nil {
		return journal.Imported{}, err
	}
	defer shut(in)
	all, err := j.Import(in)
	return all, f.named(err)
}
