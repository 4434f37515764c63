package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// entry is one file of a package.
type entry struct {
	name    string // path in the package, with slashes
	file    string // where it is read from, unless data holds it
	data    []byte
	program bool
}

func (e entry) open() (io.ReadCloser, int64, error) {
	if e.file == "" {
		return io.NopCloser(bytes.NewReader(e.data)), int64(len(e.data)), nil
	}
	f, err := os.Open(e.file)
	if err != nil {
		return nil, 0, err
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, 0, err
	}
	return f, info.Size(), nil
}

func (e entry) mode() fs.FileMode {
	if e.program {
		return 0o755
	}
	return 0o644
}

// folder lists the files under a folder as entries under another name.
func folder(dir, name string) ([]entry, error) {
	var list []entry
	err := filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		inside, err := filepath.Rel(dir, file)
		list = append(list, entry{name: path.Join(name, filepath.ToSlash(inside)), file: file})
		return err
	})
	return list, err
}

// archive is a package's content. Files stand in the order of their names, all
// of one date and of nobody, so that equal content makes equal bytes.
type archive struct {
	top     string // the folder that everything is in
	when    time.Time
	entries []entry
}

func (a archive) each(put func(e entry, name string, size int64) (io.Writer, error)) error {
	list := slices.Clone(a.entries)
	slices.SortFunc(list, func(a, b entry) int { return strings.Compare(a.name, b.name) })
	for i, e := range list {
		if i > 0 && e.name == list[i-1].name {
			return fmt.Errorf("%s would be in the package twice", e.name)
		}
		from, size, err := e.open()
		if err != nil {
			return err
		}
		to, err := put(e, path.Join(a.top, e.name), size)
		if err == nil {
			_, err = io.Copy(to, from)
		}
		from.Close()
		if err != nil {
			return fmt.Errorf("%s: %w", e.name, err)
		}
	}
	return nil
}

func (a archive) tar(w io.Writer) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	err = a.each(func(e entry, name string, size int64) (io.Writer, error) {
		return t, t.WriteHeader(&tar.Header{
			Typeflag: tar.TypeReg, Name: name, Size: size, Mode: int64(e.mode()),
			ModTime: a.when.Truncate(time.Second), Format: tar.FormatPAX,
		})
	})
	if err != nil {
		return err
	}
	if err := t.Close(); err != nil {
		return err
	}
	return z.Close()
}

func (a archive) zip(w io.Writer) error {
	z := zip.NewWriter(w)
	err := a.each(func(e entry, name string, _ int64) (io.Writer, error) {
		h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: a.when}
		h.SetMode(e.mode())
		return z.CreateHeader(h)
	})
	if err != nil {
		return err
	}
	return z.Close()
}

// writeSums writes SHA256SUMS for the files of a folder, in the form that
// sha256sum -c and shasum -a 256 -c read.
func writeSums(dir string) error {
	files, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, f := range files {
		if f.Name() == "SHA256SUMS" {
			continue
		}
		in, err := os.Open(filepath.Join(dir, f.Name()))
		if err != nil {
			return err
		}
		h := sha256.New()
		_, err = io.Copy(h, in)
		in.Close()
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", h.Sum(nil), f.Name())
	}
	return writeWhole(filepath.Join(dir, "SHA256SUMS"), func(w io.Writer) error {
		_, err := io.WriteString(w, sums.String())
		return err
	})
}
