//go:build !js

package server

import (
	"strings"
	"testing"

	"slowneedle/audio/source"
	"slowneedle/drills/class/sheet"
)

// Two sheets on recordings may have one code: the course keeps the first, and tells of
// the second.
func TestOtherRecordingsUnderOneCode(t *testing.T) {
	on := func(sum string) sheet.Sheet {
		n := sheet.New(4711)
		n.Recorded = true
		n.Recordings = []sheet.Recording{{Name: "choir.wav", SHA256: strings.Repeat(sum, 64), Passages: []source.Place{{Frames: 480000}}}}
		n.Content = func(sheet.Recording) ([]byte, error) { return []byte(sum), nil }
		return n
	}
	s, err := Open(Options{Sheets: []sheet.Sheet{on("a"), on("a")}, Data: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	s, err = Open(Options{Sheets: []sheet.Sheet{on("a"), on("b")}, Data: t.TempDir()})
	if err == nil {
		s.Close()
	}
	if err == nil || !strings.Contains(err.Error(), "stands for a sheet on other recordings") {
		t.Errorf("another sheet under the same code: %v", err)
	}
}
