package main

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing/fstest"
	"time"

	"slowneedle/audio/wholefile"
)

// archive is a package's content: all of one date and of nobody, and packed in the
// order of the names, so that equal content makes equal bytes.
type archive struct {
	top   string // the folder that everything is in
	when  time.Time
	files fstest.MapFS
}

// Modes of files in a package.
const (
	plainFile   fs.FileMode = 0o644
	programFile fs.FileMode = 0o755
)

// add puts a file at a path with slashes.
func (a archive) add(name string, mode fs.FileMode, data []byte) error {
	name = path.Join(a.top, name)
	if a.files[name] != nil {
		return fmt.Errorf("%s would be in the package twice", name)
	}
	a.files[name] = &fstest.MapFile{Data: data, Mode: mode, ModTime: a.when}
	for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
		a.files[dir] = &fstest.MapFile{Mode: fs.ModeDir | 0o755, ModTime: a.when}
	}
	return nil
}

// addFile puts a file of this machine there.
func (a archive) addFile(name string, mode fs.FileMode, from string) error {
	data, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	return a.add(name, mode, data)
}

// addFolder puts the files of a folder of this machine there.
func (a archive) addFolder(name, dir string) error {
	return filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		inside, err := filepath.Rel(dir, file)
		if err != nil {
			return err
		}
		return a.addFile(path.Join(name, filepath.ToSlash(inside)), plainFile, file)
	})
}

func (a archive) tar(w io.Writer) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	return errors.Join(t.AddFS(a.files), t.Close(), z.Close())
}

func (a archive) zip(w io.Writer) error {
	z := zip.NewWriter(w)
	return errors.Join(z.AddFS(a.files), z.Close())
}

// writeSums writes SHA256SUMS for the files of a folder, in the form that
// sha256sum -c and shasum -a 256 -c read.
func writeSums(dir string) error {
	files, err := filepath.Glob(filepath.Join(dir, "slowneedle-*"))
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(data), filepath.Base(f))
	}
	return wholefile.WriteBytes(filepath.Join(dir, "SHA256SUMS"), plainFile, []byte(sums.String()))
}
