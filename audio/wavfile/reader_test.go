package wavfile_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slowneedle/audio/wavfile"
)

// TestSoxFiles reads files written by sox in every coding, with extensible and plain headers, and compares
// every sample with the numbers sox itself reads from them.
func TestSoxFiles(t *testing.T) {
	codings := []struct {
		name   string
		args   []string
		format wavfile.Format
	}{
		{"8-bit", []string{"-b", "8", "-e", "unsigned-integer"}, wavfile.Format{Bits: 8}},
		{"16-bit", []string{"-b", "16", "-e", "signed-integer"}, wavfile.Format{Bits: 16}},
		{"24-bit", []string{"-b", "24", "-e", "signed-integer"}, wavfile.Format{Bits: 24}},
		{"32-bit", []string{"-b", "32", "-e", "signed-integer"}, wavfile.Format{Bits: 32}},
		{"float", []string{"-b", "32", "-e", "floating-point"}, wavfile.Format{Bits: 32, Float: true}},
		{"double", []string{"-b", "64", "-e", "floating-point"}, wavfile.Format{Bits: 64, Float: true}},
	}
	shapes := []struct{ rate, channels int }{
		{8000, 1}, {11025, 2}, {22050, 3}, {32000, 4}, {44100, 1}, {44100, 2}, {48000, 2}, {48000, 6}, {88200, 2}, {96000, 8}, {192000, 2},
	}
	dir := t.TempDir()
	for _, coding := range codings {
		for _, header := range []string{"wav", "wavpcm"} {
			for _, shape := range shapes {
				name := fmt.Sprintf("%s/%s/%d-%d", coding.name, header, shape.rate, shape.channels)
				t.Run(name, func(t *testing.T) {
					t.Parallel()
					path := filepath.Join(dir, strings.ReplaceAll(name, "/", "-")+".wav")
					args := append([]string{"-R", "-D", "-r", fmt.Sprint(shape.rate), "-n", "-c", fmt.Sprint(shape.channels)}, coding.args...)
					program(t, "sox", append(args, "-t", header, path, "synth", "0.05", "whitenoise", "vol", "0.9")...)

					r := open(t, path)
					want := coding.format
					want.SampleRate, want.Channels = shape.rate, shape.channels
					if r.Format() != want {
						t.Errorf("format %v, want %v", r.Format(), want)
					}
					compare(t, readAll(t, r), doubles(program(t, "sox", path, "-t", "f64", "-"), shape.channels), 1.2e-7)
					if w := r.Warnings(); w != nil {
						t.Errorf("a sound file gives warnings: %q", w)
					}
				})
			}
		}
	}
}

// TestFFmpegFiles reads files written by ffmpeg: every coding, RF64, broadcast wave, and streamed through a
// pipe so that no size was filled in.
func TestFFmpegFiles(t *testing.T) {
	dir := t.TempDir()
	tests := []struct {
		name string
		args []string
		bits int
	}{
		{"u8", []string{"-c:a", "pcm_u8"}, 8},
		{"s16", []string{"-c:a", "pcm_s16le"}, 16},
		{"s24", []string{"-c:a", "pcm_s24le"}, 24},
		{"s32", []string{"-c:a", "pcm_s32le"}, 32},
		{"f32", []string{"-c:a", "pcm_f32le"}, 32},
		{"f64", []string{"-c:a", "pcm_f64le"}, 64},
		{"rf64", []string{"-c:a", "pcm_s24le", "-rf64", "always"}, 24},
		{"bext", []string{"-c:a", "pcm_s16le", "-write_bext", "1", "-metadata", "description=evening class", "-metadata", "origination_date=2020-02-02"}, 16},
		{"six channels", []string{"-c:a", "pcm_s16le", "-ac", "6"}, 16},
		{"peak envelope", []string{"-c:a", "pcm_s16le", "-write_peak", "on"}, 16},
	}
	source := []string{"-v", "error", "-nostdin", "-f", "lavfi", "-i", "anoisesrc=d=0.0501:c=pink:r=48000:seed=7:a=0.5"}
	for _, tt := range tests {
		for _, streamed := range []bool{false, true} {
			if streamed && tt.name == "rf64" {
				continue // it needs to go back to its header
			}
			t.Run(fmt.Sprintf("%s/streamed=%v", tt.name, streamed), func(t *testing.T) {
				path := filepath.Join(dir, fmt.Sprint(tt.name, streamed, ".wav"))
				args := append(append(source[:len(source):len(source)], tt.args...), "-f", "wav")
				if streamed {
					if err := os.WriteFile(path, program(t, "ffmpeg", append(args, "-")...), 0o666); err != nil {
						t.Fatal(err)
					}
				} else {
					program(t, "ffmpeg", append(args, path)...)
				}
				r := open(t, path)
				if r.Format().Bits != tt.bits {
					t.Errorf("%d bits, want %d", r.Format().Bits, tt.bits)
				}
				raw := program(t, "ffmpeg", "-v", "error", "-nostdin", "-i", path, "-f", "f64le", "-")
				compare(t, readAll(t, r), doubles(raw, r.Format().Channels), 1.2e-7)
				if w := r.Warnings(); w != nil {
					t.Errorf("a sound file gives warnings: %q", w)
				}
			})
		}
	}
}

// TestSoxStreams reads what sox leaves behind when it cannot go back to the header.
func TestSoxStreams(t *testing.T) {
	raw := program(t, "sox", "-q", "-r", "44100", "-n", "-c", "2", "-b", "24", "-t", "wav", "-", "synth", "0.02", "sine", "440")
	r, err := wavfile.NewReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if r.Frames() != 882 || r.Warnings() != nil {
		t.Errorf("%d frames, %q; want 882 and no warning", r.Frames(), r.Warnings())
	}
}

// TestHeaders reads headers that the reference programs do not write, but others do. The layouts are those
// of EBU Tech 3285 and 3306, ITU-R BS.2088 and the extensible format's definition.
func TestHeaders(t *testing.T) {
	ramp := []byte{0x00, 0x00, 0x00, 0x40, 0x00, 0x80, 0xFF, 0x7F} // 0, 0.5, -1, the largest code
	want := []float32{0, 0.5, -1, 32767.0 / 32768}
	odd := []byte("odd")
	mono := func(f *file) *file { return f.format(1, 1, 48000, 2, 16) }
	ds64 := func(f *file, riff, data uint64) *file {
		var b file
		b.u64(riff, data, data/2).u32(0)
		return f.chunk("ds64", b.Bytes())
	}
	tests := []struct {
		name  string
		bytes []byte
		want  []float32
		warn  bool
	}{
		{"plain", mono(form("RIFF", 0)).chunk("data", ramp).done(), want, false},
		{"odd chunks before and after", mono(form("RIFF", 0).chunk("LIST", odd)).chunk("bext", odd).chunk("data", ramp).chunk("cue ", odd).done(), want, false},
		{"format chunk of 18 bytes", form("RIFF", 0).chunk("fmt ", new(file).u16(1, 1).u32(48000, 96000).u16(2, 16, 0).Bytes()).chunk("data", ramp).done(), want, false},
		{"second format chunk is not obeyed", mono(form("RIFF", 0)).format(1, 2, 8000, 2, 8).chunk("data", ramp).done(), want, false},
		{"frame size left out", form("RIFF", 0).format(1, 1, 48000, 0, 16).chunk("data", ramp).done(), want, false},
		{"RIFF size 0, data size 0: recorder cut off", mono(form("RIFF", 0)).lying("data", 0, ramp).Bytes(), want, false},
		{"both sizes unset: streamed", mono(form("RIFF", 0xFFFFFFFF)).lying("data", 0xFFFFFFFF, ramp).Bytes(), want, false},
		{"truly empty, then a list", mono(form("RIFF", 0)).chunk("data", nil).chunk("LIST", odd).done(), nil, false},
		{"cut off in the samples", mono(form("RIFF", 0)).lying("data", 1000, ramp).done(), want, true},
		{"cut off inside a frame", mono(form("RIFF", 0)).lying("data", 1000, ramp[:7]).done(), want[:3], true},
		{"RF64", mono(ds64(form("RF64", 0xFFFFFFFF), 72, 8)).lying("data", 0xFFFFFFFF, ramp).Bytes(), want, false},
		{"BW64 with a chunk after", mono(ds64(form("BW64", 0xFFFFFFFF), 80, 8)).lying("data", 0xFFFFFFFF, ramp).chunk("axml", odd).Bytes(), want, false},
		{"RF64 without ds64", mono(form("RF64", 0xFFFFFFFF)).lying("data", 0xFFFFFFFF, ramp).Bytes(), want, false},
		{"RF64 that claims the moon", mono(ds64(form("RF64", 0xFFFFFFFF), math.MaxUint64, math.MaxUint64)).lying("data", 0xFFFFFFFF, ramp).Bytes(), want, true},
		{"16 bits in 32-bit words", form("RIFF", 0).extensible(1, 1, 48000, 4, 32, 16).chunk("data", []byte{0, 0, 0, 0x40, 0, 0, 0xFF, 0x7F}).done(), []float32{0.5, 32767.0 / 32768}, false},
		{"20 bits in 3 bytes", form("RIFF", 0).format(1, 1, 48000, 3, 20).chunk("data", []byte{0xF0, 0xFF, 0x7F}).done(), []float32{1 - 1.0/(1<<19)}, false},
		{"extensible float", form("RIFF", 0).extensible(3, 1, 48000, 4, 32, 32).chunk("data", []byte{0, 0, 0, 0x3F}).done(), []float32{0.5}, false},
		{"float that is no number", form("RIFF", 0).format(3, 1, 48000, 4, 32).chunk("data", new(file).u32(0x7FC00000, 0x3F000000, 0xFF800000).Bytes()).done(), []float32{0, 0.5, 0}, true},
		{"double beyond float", form("RIFF", 0).format(3, 1, 48000, 8, 64).chunk("data", new(file).u64(math.Float64bits(1e300), math.Float64bits(math.NaN()), math.Float64bits(0.5)).Bytes()).done(), []float32{0, 0, 0.5}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := wavfile.NewReader(bytes.NewReader(tt.bytes))
			if err != nil {
				t.Fatal(err)
			}
			if r.Frames() != int64(len(tt.want)) {
				t.Errorf("%d frames, want %d", r.Frames(), len(tt.want))
			}
			if d := cmp.Diff([][]float32{tt.want}, readAll(t, r)); d != "" {
				t.Error(d)
			}
			if (r.Warnings() != nil) != tt.warn {
				t.Errorf("warnings %q", r.Warnings())
			}
		})
	}
}

// TestClipLevel: the largest positive code counts as clipped, the one below does not.
func TestClipLevel(t *testing.T) {
	tests := []struct {
		name  string
		bytes []byte
		want  float32
	}{
		{"8-bit", form("RIFF", 0).format(1, 1, 48000, 1, 8).chunk("data", nil).done(), 127.0 / 128},
		{"16-bit", form("RIFF", 0).format(1, 1, 48000, 2, 16).chunk("data", nil).done(), 32767.0 / 32768},
		{"24-bit", form("RIFF", 0).format(1, 1, 48000, 3, 24).chunk("data", nil).done(), 8388607.0 / 8388608},
		{"32-bit, beyond the resolution of a float", form("RIFF", 0).format(1, 1, 48000, 4, 32).chunk("data", nil).done(), 1},
		{"24 bits in 32", form("RIFF", 0).extensible(1, 1, 48000, 4, 32, 24).chunk("data", nil).done(), 8388607.0 / 8388608},
		{"float", form("RIFF", 0).format(3, 1, 48000, 4, 32).chunk("data", nil).done(), 1},
	}
	for _, tt := range tests {
		r, err := wavfile.NewReader(bytes.NewReader(tt.bytes))
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		if r.ClipLevel() != tt.want {
			t.Errorf("%s: clip level %v, want %v", tt.name, r.ClipLevel(), tt.want)
		}
	}
}

func TestSeekFrame(t *testing.T) {
	path := filepath.Join(t.TempDir(), "noise.wav")
	program(t, "sox", "-D", "-r", "48000", "-n", "-c", "2", "-b", "24", path, "synth", "0.5", "whitenoise")
	r := open(t, path)
	all := readAll(t, r)
	for _, frame := range []int64{0, 1, 12345, 23999, 24000} {
		if err := r.SeekFrame(frame); err != nil {
			t.Fatal(err)
		}
		for c, got := range readAll(t, r) {
			if d := cmp.Diff(all[c][frame:], got, cmp.Comparer(func(a, b float32) bool { return a == b })); d != "" && frame < r.Frames() {
				t.Errorf("from frame %d, channel %d: %s", frame, c, d)
			}
		}
	}
	for _, frame := range []int64{-1, 24001, math.MaxInt64} {
		if err := r.SeekFrame(frame); err == nil {
			t.Errorf("seeking to frame %d of 24000 gives no error", frame)
		}
	}
	if _, err := r.Read(wavfile.NewBlock(1, 10)); err == nil {
		t.Error("reading one channel of two gives no error")
	}
}

// TestLongFile: a 4-hour file needs no more memory than a short one. The file is sparse.
func TestLongFile(t *testing.T) {
	const frames = 4 * 3600 * 48000
	path := filepath.Join(t.TempDir(), "evening.wav")
	head := form("RF64", 0xFFFFFFFF).chunk("ds64", new(file).u64(frames*6+72, frames*6, frames).u32(0).Bytes()).
		format(1, 2, 48000, 6, 24).lying("data", 0xFFFFFFFF, nil).Bytes()
	if err := os.WriteFile(path, head, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, int64(len(head))+frames*6); err != nil {
		t.Fatal(err)
	}
	block := wavfile.NewBlock(2, 4096)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r := open(t, path)
	if r.Frames() != frames {
		t.Errorf("%d frames, want %d", r.Frames(), int64(frames))
	}
	if err := r.SeekFrame(frames - 48000*60); err != nil {
		t.Fatal(err)
	}
	var read int64
	for {
		n, err := r.Read(block)
		read += int64(n)
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	runtime.ReadMemStats(&after)
	if read != 48000*60 {
		t.Errorf("read %d frames of the last minute, want %d", read, 48000*60)
	}
	if grown := after.TotalAlloc - before.TotalAlloc; grown > 200<<10 {
		t.Errorf("allocated %d bytes", grown)
	}
}

// TestReadAllocates nothing once the first block has been read.
func TestReadAllocates(t *testing.T) {
	r, err := wavfile.NewReader(bytes.NewReader(form("RIFF", 0).format(1, 2, 48000, 6, 24).chunk("data", make([]byte, 6*48000)).done()))
	if err != nil {
		t.Fatal(err)
	}
	block := wavfile.NewBlock(2, 512)
	if n := testing.AllocsPerRun(50, func() {
		if _, err := r.Read(block); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}

// shrinking is a medium that loses its end while it is read.
type shrinking struct {
	*bytes.Reader
	end int64
}

func (s *shrinking) Read(b []byte) (int, error) {
	at := s.Size() - int64(s.Len())
	if at >= s.end {
		return 0, io.EOF
	}
	return s.Reader.Read(b[:min(int64(len(b)), s.end-at)])
}

func TestShrinkingFile(t *testing.T) {
	s := &shrinking{bytes.NewReader(form("RIFF", 0).format(1, 1, 48000, 2, 16).chunk("data", make([]byte, 2000)).done()), 1 << 20}
	r, err := wavfile.NewReader(s)
	if err != nil {
		t.Fatal(err)
	}
	s.end = 44 + 501
	n, err := r.Read(wavfile.NewBlock(1, 1000))
	if n != 250 || err == nil || err == io.EOF {
		t.Errorf("%d frames, error %v; want 250 and an error", n, err)
	}
}

// hiccup fails once, within a frame.
type hiccup struct {
	*bytes.Reader
	left int // bytes until then
}

func (h *hiccup) Read(b []byte) (int, error) {
	if h.left <= 0 {
		return h.Reader.Read(b)
	}
	n, err := h.Reader.Read(b[:min(len(b), h.left)])
	if h.left -= n; h.left == 0 {
		err = io.ErrClosedPipe
	}
	return n, err
}

// What follows a fault of the medium that passes is read from where it stands.
func TestReadAgain(t *testing.T) {
	data := make([]byte, 2000)
	for i := range 1000 {
		data[2*i], data[2*i+1] = byte(i), byte(i>>8)
	}
	h := &hiccup{Reader: bytes.NewReader(form("RIFF", 0).format(1, 1, 48000, 2, 16).chunk("data", data).done())}
	r, err := wavfile.NewReader(h)
	if err != nil {
		t.Fatal(err)
	}
	h.left = 501
	block := wavfile.NewBlock(1, 1000)
	n, err := r.Read(block)
	if n != 250 || err == nil {
		t.Fatalf("%d frames, error %v; want 250 and an error", n, err)
	}
	more, err := r.Read([][]float32{block[0][n:]})
	if more != 750 || err != nil {
		t.Fatalf("then %d frames, error %v; want 750", more, err)
	}
	for i, v := range block[0] {
		if v != float32(i)/(1<<15) {
			t.Fatalf("frame %d is %v", i, v)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	for _, f := range []struct {
		name string
		file *file
	}{
		{"16-bit", form("RIFF", 0).format(1, 2, 48000, 4, 16)},
		{"24-bit", form("RIFF", 0).format(1, 2, 48000, 6, 24)},
		{"float", form("RIFF", 0).format(3, 2, 48000, 8, 32)},
	} {
		b.Run(f.name, func(b *testing.B) {
			r, err := wavfile.NewReader(bytes.NewReader(f.file.chunk("data", make([]byte, 1<<20)).done()))
			if err != nil {
				b.Fatal(err)
			}
			block := wavfile.NewBlock(2, 4096)
			var samples int64
			b.ReportAllocs()
			for b.Loop() {
				n, err := r.Read(block)
				samples += 2 * int64(n)
				if err == io.EOF {
					if err := r.SeekFrame(0); err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/sample")
		})
	}
}
