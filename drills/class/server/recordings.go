//go:build !js

package server

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"

	"slowneedle/audio/said"
	"slowneedle/audio/wholefile"
	"slowneedle/drills/class/sheet"
)

// library is the folder in which a course keeps the recordings of its sheets, by their
// SHA-256.
type library string

// path is where a recording is.
func (l library) path(r sheet.Recording) string { return filepath.Join(string(l), r.SHA256) }

// content opens recordings where they are.
func (l library) content() sheet.Content {
	return sheet.Checked(func(r sheet.Recording) (io.ReadSeekCloser, error) { return os.Open(l.path(r)) })
}

// of returns where the recording of a sheet is that has a hash; ok is false if it has none.
func (l library) of(n sheet.Sheet, sha256 string) (path string, ok bool) {
	i := slices.IndexFunc(n.Recordings, func(r sheet.Recording) bool { return r.SHA256 == sha256 })
	if i < 0 {
		return "", false
	}
	return l.path(n.Recordings[i]), true
}

// keep copies the recordings of a sheet, so that the course needs nothing else.
func (l library) keep(n sheet.Sheet) error {
	if len(n.Recordings) == 0 || n.Content == nil {
		return &refusal{status: http.StatusConflict, error: said.Errorf("server.no_recordings", "the sheet's recordings are not here; start the server with the sheet's file, in the folder of its recordings")}
	}
	if err := os.MkdirAll(string(l), 0o700); err != nil {
		return fmt.Errorf("keeping a sheet's recordings: %w", err)
	}
	for _, r := range n.Recordings {
		from, err := n.Content(r)
		if err != nil {
			return err
		}
		err = wholefile.Write(l.path(r), 0o600, func(w io.Writer) error {
			_, err := io.Copy(w, from)
			return err
		})
		from.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// sameSheet reports whether two sheets of one code are the same, which on recordings they
// need not be.
func sameSheet(a, b sheet.Sheet) bool {
	if !a.Recorded {
		return true
	}
	x, errX := a.Hash()
	y, errY := b.Hash()
	return errX == nil && errY == nil && x == y
}
