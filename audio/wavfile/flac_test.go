package wavfile_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"slowneedle/audio/wavfile"
)

// flacs makes FLAC files by sox, which writes a seek table, and by ffmpeg, which writes none.
func flacs(t *testing.T, seconds string) (paths []string) {
	dir := t.TempDir()
	for _, shape := range []struct{ rate, channels, bits int }{{8000, 1, 16}, {44100, 2, 16}, {48000, 2, 24}, {96000, 6, 24}, {192000, 1, 24}} {
		path := filepath.Join(dir, fmt.Sprintf("sox-%d-%d.flac", shape.rate, shape.bits))
		program(t, "sox", "-R", "-D", "-r", fmt.Sprint(shape.rate), "-n", "-c", fmt.Sprint(shape.channels), "-b", fmt.Sprint(shape.bits), path, "synth", seconds, "pinknoise", "vol", "0.9")
		other := filepath.Join(dir, fmt.Sprintf("ffmpeg-%d-%d.flac", shape.rate, shape.bits))
		program(t, "ffmpeg", "-v", "error", "-i", path, "-compression_level", "8", other)
		paths = append(paths, path, other)
	}
	return paths
}

// FLAC files of two encoders are read, and read from anywhere, as sox reads them.
func TestFLAC(t *testing.T) {
	for _, path := range flacs(t, "3.3") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			r := open(t, path)
			f := r.Format()
			want := doubles(program(t, "sox", path, "-t", "f64", "-"), f.Channels)
			got := readAll(t, r)
			compare(t, got, want, 1.2e-7)
			if w := r.Warnings(); w != nil || r.Frames() != int64(len(want[0])) {
				t.Errorf("%d frames of %d, warnings %q", r.Frames(), len(want[0]), w)
			}
			if s := filepath.Base(path); !strings.Contains(s, fmt.Sprintf("-%d-%d.", f.SampleRate, f.Bits)) || f.Float {
				t.Errorf("%s: format %v", s, f)
			}
			part := wavfile.NewBlock(f.Channels, 3000)
			for _, at := range []int64{r.Frames() - 1, 0, 4095, 4096, r.Frames() / 2, r.Frames() - 3000, 1, 12345} {
				if err := r.SeekFrame(at); err != nil {
					t.Fatal(err)
				}
				n, err := r.Read(part)
				if err != nil || int64(n) != min(3000, r.Frames()-at) {
					t.Fatalf("from %d: %d frames, %v", at, n, err)
				}
				for c := range part {
					for i := range n {
						if part[c][i] != got[c][at+int64(i)] {
							t.Fatalf("from %d: frame %d is %v, not %v", at, i, part[c][i], got[c][at+int64(i)])
						}
					}
				}
			}
		})
	}
}

// Of a FLAC file that is cut off anywhere, its whole frames are read, and one sentence tells.
func TestFLACCutOff(t *testing.T) {
	for _, path := range flacs(t, "2")[:6] {
		whole, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		all := readAll(t, open(t, path))
		for part := 1; part < 20; part++ {
			cut := filepath.Join(t.TempDir(), "cut.flac")
			if err := os.WriteFile(cut, whole[:len(whole)*part/20], 0o600); err != nil {
				t.Fatal(err)
			}
			r, err := wavfile.Open(cut)
			if err != nil {
				if part > 8 || !strings.Contains(err.Error(), "cut.flac: the FLAC file is ") {
					t.Errorf("%s, %d/20: %v", path, part, err)
				}
				continue
			}
			got := readAll(t, r)
			r.Close()
			if w := r.Warnings(); len(w) != 1 || !strings.Contains(w[0].String(), "shorter than its header says") {
				t.Errorf("%s, %d/20: warnings %q", path, part, w)
			}
			// Frames of either encoder last a tenth of a second at most, but those at 8 kHz.
			if want := len(all[0])*part/20 - max(4608, len(all[0])/6); len(got[0]) < want {
				t.Errorf("%s, %d/20: %d frames are left, want %d or more", path, part, len(got[0]), want)
			}
			for c := range got {
				for i, v := range got[c] {
					if v != all[c][i] {
						t.Fatalf("%s, %d/20: frame %d differs", path, part, i)
					}
				}
			}
		}
	}
}

// A FLAC file that was damaged gives what can be read or one sentence, never a panic.
func TestFLACDamaged(t *testing.T) {
	path := flacs(t, "1")[2]
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < len(whole); at += 1 + at/3 {
		bad := append([]byte(nil), whole...)
		bad[at] ^= 0x5A
		name := filepath.Join(t.TempDir(), "bad.flac")
		if err := os.WriteFile(name, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := wavfile.Open(name)
		for block := [][]float32(nil); err == nil; {
			if block == nil {
				block = wavfile.NewBlock(r.Format().Channels, 1000)
				defer r.Close()
			}
			_, err = r.Read(block)
		}
		if err != io.EOF && !strings.HasPrefix(err.Error(), name+": ") {
			t.Errorf("byte %d: %v", at, err)
		}
	}
}

// A file of one frame lasts as long as that: one that is numbered as if three years of
// sound came before it is refused.
func TestFLACLength(t *testing.T) {
	const block = 4096
	stream := append([]byte("fLaC"), 0x80, 0, 0, 34, block>>8, 0, block>>8, 0, 0, 0, 0, 0, 0, 0,
		0x0A, 0xC4, 0x40, 0xF0, 0, 0, 0, 0) // 44,100 Hz, mono, 16 bits, of unknown length
	stream = append(stream, make([]byte, 16)...) // no sum of the samples
	file := func(number ...byte) io.ReadSeeker {
		frame := append([]byte{0xFF, 0xF8, 0xC9, 0x08}, number...)
		frame = append(frame, byte(checksum(frame, 8, 0x07)), 0, 0x12, 0x34) // a constant
		sum := checksum(frame, 16, 0x8005)
		return bytes.NewReader(slices.Concat(stream, frame, []byte{byte(sum >> 8), byte(sum)}))
	}
	if r, err := wavfile.NewReader(file(0)); err != nil || r.Frames() != block {
		t.Errorf("the first frame: %v", err)
	}
	_, err := wavfile.NewReader(file(0xFD, 0xBF, 0xBF, 0xBF, 0xBF, 0xBF))
	if err == nil || !strings.Contains(err.Error(), "is damaged") {
		t.Errorf("the last frame that can be numbered: %v", err)
	}
}

// checksum divides by a polynomial (RFC 9639, sections 9.1.8 and 9.3), bit by bit.
func checksum(data []byte, width int, by uint32) (sum uint32) {
	for _, b := range data {
		sum ^= uint32(b) << (width - 8)
		for range 8 {
			top := sum >> (width - 1) & 1
			sum = (sum<<1 ^ by*top) & (1<<width - 1)
		}
	}
	return sum
}

// What follows a fault of the medium that passes is read from where it stands, in FLAC as in
// WAV, and the fault is not told as damage of the file.
func TestFLACReadAgain(t *testing.T) {
	faults := 0
	for _, path := range flacs(t, "2") {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		want := readAll(t, open(t, path))
		h := &hiccup{Reader: bytes.NewReader(data)}
		r, err := wavfile.NewReader(h)
		if err != nil {
			t.Fatal(err)
		}
		h.left = len(data) / 2
		got := wavfile.NewBlock(len(want), len(want[0]))
		n, err := r.Read(got)
		if err != nil { // else it was met where a frame is looked for, and read again
			faults++
			if !strings.Contains(err.Error(), io.ErrClosedPipe.Error()) || strings.Contains(err.Error(), "damaged") {
				t.Errorf("%s: %v; want the error of the medium", filepath.Base(path), err)
			}
			left := make([][]float32, len(got))
			for c := range got {
				left[c] = got[c][n:]
			}
			if more, err := r.Read(left); n+more != len(want[0]) || err != nil {
				t.Errorf("%s: %d frames, then %d, %v", filepath.Base(path), n, more, err)
			}
		}
		for c := range want {
			if !slices.Equal(got[c], want[c]) {
				t.Errorf("%s: channel %d is another", filepath.Base(path), c)
			}
		}
	}
	if faults < 5 {
		t.Errorf("%d files were read with a fault", faults)
	}
}
