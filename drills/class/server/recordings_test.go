//go:build !js

package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
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
		n.Content = sheet.Content(func(sheet.Recording) (io.ReadSeekCloser, error) { return os.Open(os.DevNull) })
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

// Recordings are read where they lie: with rounds made of one of nearly 60 MB, the server
// holds little more than these rounds.
func TestRecordingsStayOnTheDisk(t *testing.T) {
	const frames, played, frame = 300 * 48000, 10 * 48000, 4 // two channels of 16 bits
	var b bytes.Buffer
	b.WriteString("RIFF")
	binary.Write(&b, binary.LittleEndian, uint32(36+frames*frame))
	b.WriteString("WAVEfmt ")
	binary.Write(&b, binary.LittleEndian, struct {
		Size         uint32
		Tag, Chans   uint16
		Rate, Second uint32
		Frame, Bits  uint16
	}{16, 1, 2, 48000, 48000 * frame, frame, 16})
	b.WriteString("data")
	binary.Write(&b, binary.LittleEndian, uint32(frames*frame))
	rng := rand.New(rand.NewPCG(1, 2))
	for range played * frame / 2 {
		binary.Write(&b, binary.LittleEndian, int16(rng.IntN(16000)-8000))
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "choir.wav")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 44+frames*frame); err != nil { // silence to the end
		t.Fatal(err)
	}
	sum := sha256.New()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = io.Copy(sum, f)
	f.Close()
	if err != nil {
		t.Fatal(err)
	}
	n := sheet.New(4711)
	n.Recordings = []sheet.Recording{{Name: "choir.wav", SHA256: hex.EncodeToString(sum.Sum(nil)), Passages: []source.Place{{Frames: played}}}}
	n.Content = sheet.Folder(dir)
	s, web := open(t, Options{Sheets: []sheet.Sheet{n}})
	held := func() uint64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	b = bytes.Buffer{}
	before := held()
	kept := s.Sheet()
	kept.Content = nil // as it is in a hand-in
	bytes := 0
	for i := range 2 {
		e, err := s.cache.Exercise(kept, i)
		if err != nil {
			t.Fatal(err)
		}
		bytes += e.Bytes()
	}
	if more := int64(held()) - int64(before) - int64(bytes); more > 8<<20 {
		t.Errorf("beside two rounds of %d MB the server holds %d MB more", bytes>>20, more>>20)
	}
	r := ask(t, "GET", web.URL+"/api/recording?code="+strings.ReplaceAll(s.Code(), " ", "")+"&sha256="+n.Recordings[0].SHA256, "")
	if r.status != 200 || len(r.body) != 44+frames*frame {
		t.Errorf("%d with %d bytes", r.status, len(r.body))
	}
}
