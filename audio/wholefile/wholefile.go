// Package wholefile writes files so that a reader finds what was there before
// or the whole new file, never a part of it, also after a power failure. What
// is written goes to a hidden file in the same folder, which takes the wanted
// name at the end.
package wholefile

import (
	"bufio"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
)

// ErrNotRegular: what is at the path is a folder or a device, which a file
// cannot replace.
var ErrNotRegular = errors.New("it is not a regular file and cannot be replaced; choose another name")

// File is a file being written. It ends with Commit or Abort.
type File struct {
	*os.File
	path  string
	ended bool
}

// Create begins a file that Commit puts at path. Its permissions are perm as
// far as the umask allows, as with [os.OpenFile]. If path is a symbolic link,
// the file it points to is replaced. The error is a *[fs.PathError]; it is
// ErrNotRegular if path is a folder or a device.
func Create(path string, perm fs.FileMode) (*File, error) {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return nil, &fs.PathError{Op: "create", Path: path, Err: ErrNotRegular}
	}
	dir, base := filepath.Split(path)
	for {
		name := filepath.Join(dir, "."+base+"."+strconv.FormatUint(uint64(rand.Uint32()), 36)+".part")
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		return &File{File: f, path: path}, nil
	}
}

// Commit puts the file on the disk and then at its path, in the place of what
// was there. On an error what was there stays, and nothing else is left.
func (f *File) Commit() error {
	f.ended = true
	// The content before the name: a power failure in between must not leave
	// the name with an empty file.
	err := f.Sync()
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Rename(f.Name(), f.path)
	}
	if err != nil {
		os.Remove(f.Name())
		return err
	}
	SyncFolder(filepath.Dir(f.path))
	return nil
}

// Abort removes what was written. It may be called after Commit, and then does
// nothing.
func (f *File) Abort() {
	if f.ended {
		return
	}
	f.ended = true
	f.Close()
	os.Remove(f.Name())
}

// Write makes the file at path of what the function writes. If that fails, its
// error is returned and what was at path stays.
func Write(path string, perm fs.FileMode, write func(io.Writer) error) error {
	f, err := Create(path, perm)
	if err != nil {
		return err
	}
	defer f.Abort()
	w := bufio.NewWriterSize(f, 1<<16)
	if err := write(w); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Commit()
}

// WriteBytes makes the file at path of data.
func WriteBytes(path string, perm fs.FileMode, data []byte) error {
	return Write(path, perm, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// SyncFolder puts the names in a folder on the disk, so that a file made or
// renamed there keeps its name after a power failure. Systems that cannot do
// that for a folder keep names by themselves, so there is no error.
func SyncFolder(dir string) {
	if f, err := os.Open(dir); err == nil {
		f.Sync()
		f.Close()
	}
}
