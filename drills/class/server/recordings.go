//go:build !js

package server

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"slowneedle/audio/said"
	"slowneedle/audio/wholefile"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/sheet"
)

// library is where a course keeps the recordings of its sheets, by their SHA-256, and those
// sheets themselves, by their codes.
type library string

func (l library) recording(sha256 string) string { return filepath.Join(string(l), sha256) }
func (l library) sheet(code string) string {
	return filepath.Join(string(l), strings.ReplaceAll(code, " ", "")+".json")
}

// get returns the content of a recording.
func (l library) get(r sheet.Recording) ([]byte, error) { return os.ReadFile(l.recording(r.SHA256)) }

// keep copies a sheet and its recordings, so that the course needs nothing else.
func (l library) keep(n sheet.Sheet, code string) error {
	if len(n.Recordings) == 0 || n.Content == nil {
		return said.Errorf("server.no_recordings", "the sheet's recordings are not here; start the server with the sheet's file, in the folder of its recordings")
	}
	if err := os.MkdirAll(string(l), 0o700); err != nil {
		return fmt.Errorf("keeping a sheet's recordings: %w", err)
	}
	for _, r := range n.Recordings {
		data, err := n.Content(r)
		if err == nil {
			err = wholefile.WriteBytes(l.recording(r.SHA256), 0o600, data)
		}
		if err != nil {
			return err
		}
	}
	text, err := n.File()
	if err != nil {
		return err
	}
	return wholefile.WriteBytes(l.sheet(code), 0o600, text)
}

// read returns a sheet that was kept.
func (l library) read(code string) (sheet.Sheet, error) {
	data, err := os.ReadFile(l.sheet(code))
	if err != nil {
		return sheet.Sheet{}, fmt.Errorf("the sheet %s and its recordings are not in the store: %w", code, err)
	}
	return sheet.Parse(data)
}

// getRecording gives learners a recording of a sheet.
func (s *Server) getRecording(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	c, ok := s.sheetOf(w, r, q.Get("code"))
	if !ok {
		return
	}
	sum := q.Get("sha256")
	if !slices.ContainsFunc(c.sheet.Recordings, func(r sheet.Recording) bool { return r.SHA256 == sum }) {
		s.nothing(w, r)
		return
	}
	// A whole class gets them at once: as long as the trainer waits.
	if err := http.NewResponseController(w).SetWriteDeadline(time.Now().Add(client.RecordingTime)); err != nil {
		s.log.Error("a recording has no more time than other answers", "error", err)
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	http.ServeFile(w, r, s.course.library.recording(sum))
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
