package wavfile_test

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"slowneedle/audio/wavfile"
)

// wild is a file that cannot be used, and what must be said of it.
type wild struct {
	name  string
	bytes []byte
	want  string
}

func broken() []wild {
	data := make([]byte, 16)
	riff := func() *file { return form("RIFF", 0) }
	nested := []byte("LIST")
	for range 200 {
		nested = append(nested, "\xF0\xFF\xFF\x7FLISTLIST"...)
	}
	return []wild{
		{"empty", nil, "the file is empty; record or export it again"},
		{"one letter", []byte("R"), "this is not a WAV or FLAC file: it does not begin with RIFF, RF64, BW64 or fLaC; convert it to one of them first"},
		{"inside the header", []byte("RIFF\x00\x00"), "the file ends after 6 bytes, inside its header; record or export it again"},
		{"text", []byte("Dear class, the recording is attached."), "this is not a WAV or FLAC file: it does not begin with RIFF, RF64, BW64 or fLaC; convert it to one of them first"},
		{"MP3", []byte("ID3\x04\x00\x00\x00\x00\x00\x00\x00\x00\x00"), "this is an MP3 file, not WAV or FLAC; convert it to one of them first"},
		{"FLAC", []byte("fLaC\x00\x00\x00\x22\x00\x00\x00\x00\x00"), "the FLAC file is damaged; export it again"},
		{"AIFF", []byte("FORM\x00\x00\x00\x22AIFFCOMM"), "this is an AIFF file, not WAV or FLAC; convert it to one of them first"},
		{"a film", []byte("RIFF\x22\x00\x00\x00AVI LIST"), `this RIFF file holds "AVI ", not WAVE sound; convert it to PCM WAV first`},
		{"no format", riff().chunk("LIST", data).done(), "the file ends before its format chunk; it is cut short: record or export it again"},
		{"no samples", riff().format(1, 1, 48000, 2, 16).done(), "the file ends before its samples; it is cut short: record or export it again"},
		{"samples first", riff().chunk("data", data).format(1, 1, 48000, 2, 16).done(), "the samples come before the format chunk; export the file again as PCM WAV"},
		{"format chunk too short", riff().chunk("fmt ", data[:14]).chunk("data", data).done(), "the format chunk has 14 bytes instead of 16 or more; export the file again as PCM WAV"},
		{"format chunk that lies", riff().lying("fmt ", 0xFFFFFFF0, data).done(), `the chunk "fmt " says it has 4294967280 bytes, but only 16 are left; the file is cut short: record or export it again`},
		{"list that lies", riff().lying("LIST", 0xFFFFFFFF, data).done(), `the chunk "LIST" says it has 4294967295 bytes, but only 16 are left; the file is cut short: record or export it again`},
		{"nested lists that lie", append(riff().Bytes(), nested...), `the chunk "LIST" says it has 2147483632 bytes, but only 2396 are left; the file is cut short: record or export it again`},
		{"a name that is none", riff().lying("\x00\x1B[\xFF", 99, nil).done(), `the chunk "??[?" says it has 99 bytes, but only 0 are left; the file is cut short: record or export it again`},
		{"chunks without end", append(riff().Bytes(), bytes.Repeat([]byte("JUNK\x00\x00\x00\x00"), 20000)...), "there are more than 10000 chunks before the samples; export the file again as PCM WAV"},
		{"no channels", riff().format(1, 0, 48000, 0, 16).chunk("data", data).done(), "the format chunk says 0 channels; save it as mono or stereo PCM"},
		{"a crowd of channels", riff().format(1, 65535, 48000, 65534, 16).chunk("data", data).done(), "the format chunk says 65535 channels; at most 8 are read: save it as mono or stereo PCM"},
		{"no rate", riff().format(1, 1, 0, 2, 16).chunk("data", data).done(), "the format chunk says a sample rate of 0 Hz; 1000 to 384000 Hz are read: save it at 44100 or 48000 Hz"},
		{"absurd rate", riff().format(1, 1, 4294967295, 2, 16).chunk("data", data).done(), "the format chunk says a sample rate of 4294967295 Hz; 1000 to 384000 Hz are read: save it at 44100 or 48000 Hz"},
		{"no bits", riff().format(1, 1, 48000, 0, 0).chunk("data", data).done(), "the format chunk says samples of 0 bits in 0 bytes; save it with 16 or 24 bits"},
		{"absurd bits", riff().format(1, 1, 48000, 0, 65535).chunk("data", data).done(), "the format chunk says samples of 65535 bits in 8192 bytes; save it with 16 or 24 bits"},
		{"more bits than room", riff().extensible(1, 1, 48000, 2, 16, 24).chunk("data", data).done(), "the format chunk says samples of 24 bits in 2 bytes; save it with 16 or 24 bits"},
		{"float of 16 bits", riff().format(3, 1, 48000, 2, 16).chunk("data", data).done(), "the format chunk says float samples of 16 bits; save it with 32"},
		{"float in a wider word", riff().format(3, 1, 48000, 8, 32).chunk("data", data).done(), "the format chunk says float samples of 32 bits; save it with 32"},
		{"frames too small", riff().format(1, 2, 48000, 3, 16).chunk("data", data).done(), "the format chunk contradicts itself: 2 channels of 16 bits do not fit in frames of 3 bytes; export the file again as PCM WAV"},
		{"A-law", riff().format(6, 1, 8000, 1, 8).chunk("data", data).done(), "the samples are encoded as A-law; export the file again as PCM WAV"},
		{"ADPCM", riff().format(2, 1, 8000, 256, 4).chunk("data", data).done(), "the samples are encoded as ADPCM; export the file again as PCM WAV"},
		{"unknown coding", riff().format(0x1234, 1, 8000, 1, 8).chunk("data", data).done(), "the samples are encoded as format 0x1234; export the file again as PCM WAV"},
		{"extensible cut short", riff().format(0xFFFE, 1, 48000, 2, 16).chunk("data", data).done(), "the extensible format chunk has 16 bytes instead of 40; export the file again as PCM WAV"},
		{"unknown extension", riff().chunk("fmt ", new(file).u16(0xFFFE, 1).u32(48000, 96000).u16(2, 16, 22, 16).u32(0, 1, 2, 3, 4).Bytes()).done(), "the samples are in an encoding this program does not know; export the file again as PCM WAV"},
	}
}

func TestBroken(t *testing.T) {
	for _, w := range broken() {
		_, err := wavfile.NewReader(bytes.NewReader(w.bytes))
		switch {
		case err == nil:
			t.Errorf("%s: no error", w.name)
		case err.Error() != w.want:
			t.Errorf("%s:\n got %s\nwant %s", w.name, err, w.want)
		}
	}
}

// TestOpenErrors: the sentence begins with the name of the file.
func TestOpenErrors(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "take.wav")
	if err := os.WriteFile(path, form("RIFF", 0).format(1, 0, 48000, 0, 16).chunk("data", nil).done(), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := wavfile.Open(path); err == nil || err.Error() != path+": the format chunk says 0 channels; save it as mono or stereo PCM" {
		t.Errorf("no channels: %v", err)
	}
	if _, err := wavfile.Open(dir); err == nil || err.Error() != dir+": this is a folder; give the WAV or FLAC files in it" {
		t.Errorf("a folder: %v", err)
	}
	missing := filepath.Join(dir, "none.wav")
	if _, err := wavfile.Open(missing); !errors.Is(err, fs.ErrNotExist) || !strings.HasPrefix(err.Error(), missing+": there is no such file") {
		t.Errorf("no file: %v", err)
	}
	if _, err := wavfile.Open(os.DevNull); err == nil || !strings.Contains(err.Error(), "not a regular file") {
		t.Errorf("a device: %v", err)
	}
}

// FuzzReader: whatever the bytes, there is no panic, no allocation beyond the size of the file and a
// constant, and if the file is refused, one clear sentence says why. What is accepted reads the same again.
// The corpus is every broken file above, and a small sound file of each kind cut off at every byte.
func FuzzReader(f *testing.F) {
	for _, w := range broken() {
		if len(w.bytes) < 100000 {
			f.Add(w.bytes)
		}
	}
	samples := []byte("0123456789abcdef01234567")
	whole := [][]byte{
		form("RIFF", 0).chunk("LIST", []byte("odd")).format(1, 2, 48000, 6, 24).chunk("data", samples).chunk("LIST", []byte("INFO")).done(),
		form("RF64", 0xFFFFFFFF).chunk("ds64", new(file).u64(96, 24, 4).u32(0).Bytes()).extensible(3, 1, 48000, 8, 64, 64).lying("data", 0xFFFFFFFF, samples).Bytes(),
	}
	for _, w := range whole {
		for i := range len(w) + 1 {
			f.Add(w[:i])
		}
	}
	for _, bits := range []uint16{8, 12, 16, 20, 24, 32} {
		f.Add(form("RIFF", 0).format(1, 1, 8000, 0, bits).lying("data", 0, samples).Bytes())
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		r, err := wavfile.NewReader(bytes.NewReader(b))
		var first float64
		var frames int64
		if err == nil {
			first, frames = digest(t, r)
		}
		runtime.ReadMemStats(&after)
		if grown := after.TotalAlloc - before.TotalAlloc; grown > uint64(len(b))+1<<20 {
			t.Fatalf("%d bytes allocated for a file of %d", grown, len(b))
		}
		if err != nil {
			checkSentence(t, err)
			return
		}
		if frames != r.Frames() || frames*int64(r.Format().Channels) > int64(len(b)) {
			t.Fatalf("%d frames read, Frames says %d, the file has %d bytes", frames, r.Frames(), len(b))
		}
		if err := r.SeekFrame(0); err != nil {
			t.Fatal(err)
		}
		if second, _ := digest(t, r); first != second {
			t.Fatalf("the samples sum to %v, and then to %v", first, second)
		}
		for _, w := range r.Warnings() {
			checkSentence(t, errors.New(w.String()))
		}
	})
}

// digest reads r to its end.
func digest(t *testing.T, r *wavfile.Reader) (sum float64, frames int64) {
	block := wavfile.NewBlock(r.Format().Channels, 33)
	for {
		n, err := r.Read(block)
		if err == io.EOF {
			return sum, frames
		}
		if err != nil || n == 0 {
			t.Fatalf("%d frames and %v after frame %d", n, err, frames)
		}
		frames += int64(n)
		for c := range block {
			for i, v := range block[c][:n] {
				if v-v != 0 {
					t.Fatalf("sample %v", v)
				}
				sum += float64(v) * float64(c+i+1)
			}
		}
	}
}

// checkSentence: one line of plain words without program talk, that says what to do after a semicolon.
func checkSentence(t *testing.T, err error) {
	s := err.Error()
	if !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
		t.Fatalf("not one printable line: %q", s)
	}
	if len(s) < 20 || len(s) > 200 || strings.HasSuffix(s, ".") || !strings.Contains(s, "; ") {
		t.Fatalf("not one clear sentence: %q", s)
	}
	if slices.ContainsFunc([]string{"EOF", "runtime", "nil", "panic", "invalid argument"}, func(w string) bool { return strings.Contains(s, w) }) {
		t.Fatalf("program talk: %q", s)
	}
}
