package wavfile

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestLarge: past the largest RIFF size the file becomes RF64 (EBU Tech 3306). The limit is lowered so
// that a short file passes it; ffmpeg must find all its samples.
func TestLarge(t *testing.T) {
	for _, f := range []Format{
		{SampleRate: 48000, Channels: 2, Bits: 24},
		{SampleRate: 48000, Channels: 1, Bits: 32, Float: true},
	} {
		path := filepath.Join(t.TempDir(), "large.wav")
		w, err := Create(path, f)
		if err != nil {
			t.Fatal(err)
		}
		w.limit = 10000
		block := NewBlock(f.Channels, 4801)
		for _, ch := range block {
			for i := range ch {
				ch[i] = float32(i%100) / 128
			}
		}
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if r.Frames() != 4801 || r.Format() != f || r.Warnings() != nil {
			t.Errorf("%v: read back as %v, %d frames, %q", f, r.Format(), r.Frames(), r.Warnings())
		}
		r.Close()
		out, err := exec.Command("ffprobe", "-v", "error", "-show_entries", "stream=duration_ts,channels", "-of", "csv=p=0", path).CombinedOutput()
		want := map[int]string{1: "1,4801", 2: "2,4801"}[f.Channels]
		if err != nil || strings.TrimSpace(string(out)) != want {
			t.Errorf("%v: ffprobe says %q (%v), want %q", f, out, err, want)
		}
		if raw, err := os.ReadFile(path); err != nil || string(raw[:4]) != "RF64" {
			t.Errorf("%v: the file begins with %q", f, raw[:4])
		}
	}
}

// TestFailingDisk: when the medium fails, writing says so, and nothing is left behind.
func TestFailingDisk(t *testing.T) {
	for _, frames := range []int{10, 100000} { // noticed on Close, and in Write
		folder := t.TempDir()
		w, err := Create(filepath.Join(folder, "take.wav"), Format{SampleRate: 48000, Channels: 1, Bits: 24})
		if err != nil {
			t.Fatal(err)
		}
		w.file.Close()
		failed := w.Write(NewBlock(1, frames))
		if (failed != nil) != (frames == 100000) {
			t.Errorf("writing %d frames: %v", frames, failed)
		}
		if err := w.Close(); err == nil || failed != nil && err.Error() != failed.Error() {
			t.Errorf("closing after %d frames: %v", frames, err)
		}
		if left, _ := os.ReadDir(folder); len(left) != 0 {
			t.Errorf("%d frames: %d files left behind", frames, len(left))
		}
	}
}
