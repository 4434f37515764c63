package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"slowneedle/audio/wholefile"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// readWhole reads a file that people hand over, up to most bytes. The error is
// one sentence that names the file and what to do.
func readWhole(name string, most int64) ([]byte, error) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, readFault(name, err)
	case info.IsDir():
		return nil, fmt.Errorf("%s: this is a folder; name a file in it", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, readFault(name, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	switch {
	case err != nil:
		return nil, readFault(name, err)
	case int64(len(data)) > most:
		return nil, fmt.Errorf("%s: it has more than %d bytes; this is not the file that was meant", name, most)
	}
	return data, nil
}

// readAs makes of a file, of up to most bytes, what parse makes of its text. The error
// names the file, and what it was taken for.
func readAs[T any](name, what string, most int64, parse func([]byte) (T, error)) (T, error) {
	var none T
	data, err := readWhole(name, most)
	if err != nil {
		return none, err
	}
	v, err := parse(data)
	if err != nil {
		return none, fmt.Errorf("%s%s: %w", name, what, err)
	}
	return v, nil
}

// readFault words what the system says of a file or folder that is to be read.
func readFault(name string, err error) error {
	switch {
	case name == "":
		return errors.New("the name of a file or folder is empty; give one")
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: there is no such file or folder; check the name", name)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: no permission to read it; check its permissions", name)
	case errors.Is(err, syscall.ENOTDIR):
		return fmt.Errorf("%s: this is a file; name a folder", name)
	}
	return fmt.Errorf("%s: it cannot be read (%w); check the name", name, cause(err))
}

// writeFault words what the system says of a file or folder that is to be
// written.
func writeFault(name string, err error) error {
	info, missing := os.Stat(name)
	switch {
	case missing == nil && info.IsDir():
		return fmt.Errorf("%s: this is a folder; choose another name", name)
	case errors.Is(err, syscall.ENOTDIR):
		return fmt.Errorf("%s: there is a file where a folder must be; choose another name", name)
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: there is no folder %s; make it first", name, filepath.Dir(name))
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: no permission to write there; choose another folder", name)
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("%s: the disk is full; make room or choose another folder", name)
	}
	return fmt.Errorf("%s: it cannot be written (%w); choose another name or folder", name, cause(err))
}

// cause is what the system says without the call and the name.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// isRecording reports whether a file's name is that of a WAV or FLAC file.
func isRecording(name string) bool {
	ext := strings.ToLower(filepath.Ext(name))
	return ext == ".wav" || ext == ".flac"
}

// write makes a file, whole or not at all. The error is one sentence that names the file
// and what to do.
func write(name string, content func(io.Writer) error) error {
	if err := wholefile.Write(name, 0o644, content); err != nil {
		return writeFault(name, err)
	}
	return nil
}

// writeBytes makes a file of data.
func writeBytes(name string, data []byte) error {
	return write(name, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// isFolder returns nil for a folder that can be read.
func isFolder(name string) error {
	if _, err := os.ReadDir(name); err != nil {
		return readFault(name, err)
	}
	return nil
}

// recordingsFlag is where the recordings of sheets are.
type recordingsFlag struct {
	Recordings string `placeholder:"FOLDER" help:"Where the recordings are that sheets are made of."`
}

// rounds makes the rounds of sheets, of those on recordings too if these are there.
func (f recordingsFlag) rounds() (*handin.RoundCache, error) {
	if f.Recordings == "" {
		return new(handin.RoundCache), nil
	}
	return &handin.RoundCache{Content: sheet.Folder(f.Recordings)}, isFolder(f.Recordings)
}

// makeFolder makes a folder that files are written to.
func makeFolder(name string) error {
	if err := os.MkdirAll(name, 0o755); err != nil {
		return writeFault(name, err)
	}
	return nil
}
