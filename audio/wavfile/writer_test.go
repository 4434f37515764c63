package wavfile_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/go-audio/wav"

	"slowneedle/audio/wavfile"
)

// noise returns pseudo-random channels between -1 and 1.
func noise(channels, frames int) [][]float32 {
	rng := rand.New(rand.NewPCG(1, 2))
	b := wavfile.NewBlock(channels, frames)
	for _, ch := range b {
		for i := range ch {
			ch[i] = float32(2*rng.Float64() - 1)
		}
	}
	return b
}

func write(t testing.TB, path string, f wavfile.Format, blocks ...[][]float32) {
	t.Helper()
	w, err := wavfile.Create(path, f)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	for _, b := range blocks {
		if err := w.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

var writable = []wavfile.Format{
	{SampleRate: 8000, Channels: 1, Bits: 16},
	{SampleRate: 44100, Channels: 2, Bits: 16},
	{SampleRate: 48000, Channels: 1, Bits: 24},
	{SampleRate: 48000, Channels: 2, Bits: 24},
	{SampleRate: 96000, Channels: 6, Bits: 24},
	{SampleRate: 48000, Channels: 1, Bits: 32, Float: true},
	{SampleRate: 192000, Channels: 2, Bits: 32, Float: true},
	{SampleRate: 48000, Channels: 8, Bits: 32, Float: true},
}

// TestWrittenFiles has sox and ffmpeg open what was written: they must find no fault, the format that was
// asked for and, within the resolution of that format, the samples.
func TestWrittenFiles(t *testing.T) {
	const frames = 1001 // odd, so that three-byte samples need padding
	for _, f := range writable {
		t.Run(fmt.Sprint(f), func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "written.wav")
			samples := noise(f.Channels, frames)
			head, tail := make([][]float32, f.Channels), make([][]float32, f.Channels)
			for c, ch := range samples {
				head[c], tail[c] = ch[:377], ch[377:]
			}
			write(t, path, f, head, tail)

			tolerance := math.Exp2(-24) // float, and what sox makes of it
			switch f.Bits {
			case 16:
				tolerance = 1.5 / (1 << 15) // dither reaches one step either way, rounding half a step
			case 24:
				tolerance = 0.5001 / (1 << 23)
			}
			asSox := doubles(program(t, "sox", path, "-t", "f64", "-"), f.Channels)
			compare(t, samples, asSox, tolerance)
			compare(t, samples, doubles(program(t, "ffmpeg", "-v", "error", "-xerror", "-nostdin", "-i", path, "-f", "f64le", "-"), f.Channels), tolerance)
			compare(t, readAll(t, open(t, path)), asSox, math.Exp2(-24))

			for flag, want := range map[string]string{"-r": fmt.Sprint(f.SampleRate), "-c": fmt.Sprint(f.Channels), "-s": fmt.Sprint(frames), "-t": "wav"} {
				if got := strings.TrimSpace(string(program(t, "soxi", flag, path))); got != want {
					t.Errorf("soxi %s says %s, want %s", flag, got, want)
				}
			}
			var probe struct {
				Streams []struct {
					Codec    string `json:"codec_name"`
					Rate     string `json:"sample_rate"`
					Channels int
					Layout   string `json:"channel_layout"`
					Duration string
				}
			}
			if err := json.Unmarshal(program(t, "ffprobe", "-v", "error", "-show_streams", "-of", "json", path), &probe); err != nil {
				t.Fatal(err)
			}
			s := probe.Streams[0]
			codec := fmt.Sprintf("pcm_s%dle", f.Bits)
			if f.Float {
				codec = "pcm_f32le"
			}
			if s.Codec != codec || s.Rate != fmt.Sprint(f.SampleRate) || s.Channels != f.Channels {
				t.Errorf("ffprobe says %+v", s)
			}
			if want, ok := map[int]string{6: "5.1", 8: "7.1"}[f.Channels]; ok && s.Layout != want {
				t.Errorf("ffprobe says channel layout %q, want %q", s.Layout, want)
			}
			if d, _ := strconv.ParseFloat(s.Duration, 64); math.Abs(d-frames/float64(f.SampleRate)) > 1e-5 {
				t.Errorf("ffprobe says %s s", s.Duration)
			}
		})
	}
}

// TestSecondReader has an independent Go reader of integer PCM read a written file.
func TestSecondReader(t *testing.T) {
	path := filepath.Join(t.TempDir(), "written.wav")
	samples := noise(2, 1001)
	write(t, path, wavfile.Format{SampleRate: 48000, Channels: 2, Bits: 16}, samples)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	d := wav.NewDecoder(f)
	if !d.IsValidFile() {
		t.Fatal("not a valid file to the second reader")
	}
	pcm, err := d.FullPCMBuffer()
	if err != nil {
		t.Fatal(err)
	}
	if d.SampleRate != 48000 || d.NumChans != 2 || d.BitDepth != 16 || len(pcm.Data) != 2002 {
		t.Fatalf("%d Hz, %d channels, %d bits, %d samples", d.SampleRate, d.NumChans, d.BitDepth, len(pcm.Data))
	}
	got := readAll(t, open(t, path))
	for i, v := range pcm.Data {
		if ours := got[i%2][i/2]; ours != float32(v)/(1<<15) {
			t.Fatalf("sample %d: %v, the second reader has %d", i, ours, v)
		}
	}
}

// TestDither: with triangular dither of two steps' width the total error has no mean and a variance of a
// quarter of a squared step, whatever the signal (S. P. Lipshitz, R. A. Wannamaker, J. Vanderkooy,
// "Quantization and Dither: A Theoretical Survey", J. Audio Eng. Soc. 40, 1992).
func TestDither(t *testing.T) {
	const frames = 200000
	for _, level := range []float64{0, 0.25, 0.5, 1000.37} { // in steps
		block := wavfile.NewBlock(1, frames)
		for i := range block[0] {
			block[0][i] = float32(level / (1 << 15))
		}
		path := filepath.Join(t.TempDir(), "dithered.wav")
		write(t, path, wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 16}, block)
		var sum, squares float64
		for _, v := range readAll(t, open(t, path))[0] {
			e := float64(v)*(1<<15) - float64(block[0][0])*(1<<15)
			sum += e
			squares += e * e
		}
		mean, variance := sum/frames, squares/frames
		if math.Abs(mean) > 4*0.5/math.Sqrt(frames) || math.Abs(variance-0.25) > 0.01 {
			t.Errorf("at %v steps: mean error %.4f steps, variance %.4f; want 0 and 0.25", level, mean, variance)
		}
	}
}

// TestDeterministic: the same samples give the same file, however they are cut into blocks.
func TestDeterministic(t *testing.T) {
	f := wavfile.Format{SampleRate: 48000, Channels: 2, Bits: 16}
	samples := noise(2, 5000)
	var single [][][]float32
	for i := range samples[0] {
		single = append(single, [][]float32{samples[0][i : i+1], samples[1][i : i+1]})
	}
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	write(t, a, f, samples)
	write(t, b, f, single...)
	one, _ := os.ReadFile(a)
	two, _ := os.ReadFile(b)
	if len(one) == 0 || string(one) != string(two) {
		t.Error("the two files differ")
	}
}

// TestFullScale: integer samples are limited, float samples are not; what is no number becomes silence.
func TestFullScale(t *testing.T) {
	in := [][]float32{{2, -2, 1, -1, float32(math.NaN()), float32(math.Inf(1))}}
	tests := []struct {
		format wavfile.Format
		want   []float32
	}{
		{wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 24}, []float32{8388607.0 / 8388608, -1, 8388607.0 / 8388608, -1, 0, 0}},
		{wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 32, Float: true}, []float32{2, -2, 1, -1, 0, 0}},
	}
	for _, tt := range tests {
		path := filepath.Join(t.TempDir(), "hot.wav")
		write(t, path, tt.format, in)
		got := readAll(t, open(t, path))[0]
		for i := range tt.want {
			if got[i] != tt.want[i] {
				t.Errorf("%v: %v is written as %v, want %v", tt.format, in[0][i], got[i], tt.want[i])
			}
		}
	}
}

// TestWhole: nobody ever sees half a file.
func TestWhole(t *testing.T) {
	f := wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 24}
	samples := noise(1, 100000)
	start := func(t *testing.T, path string) *wavfile.Writer {
		w, err := wavfile.Create(path, f)
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(samples); err != nil {
			t.Fatal(err)
		}
		return w
	}
	names := func(dir string) []string {
		entries, _ := os.ReadDir(dir)
		var n []string
		for _, e := range entries {
			n = append(n, e.Name())
		}
		return n
	}
	t.Run("not before Close", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "take.wav")
		w := start(t, path)
		if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
			t.Error("the file is there before Close")
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if n := names(filepath.Dir(path)); len(n) != 1 || n[0] != "take.wav" {
			t.Errorf("the folder holds %q", n)
		}
		w.Abort()
		if err := w.Close(); err != nil {
			t.Error("closing again:", err)
		}
		if r := open(t, path); r.Frames() != 100000 {
			t.Errorf("%d frames after Abort after Close", r.Frames())
		}
	})
	t.Run("an older file stays until then", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "take.wav")
		if err := os.WriteFile(path, []byte("older"), 0o666); err != nil {
			t.Fatal(err)
		}
		w := start(t, path)
		w.Abort()
		if b, _ := os.ReadFile(path); string(b) != "older" {
			t.Errorf("the older file now holds %d bytes", len(b))
		}
		if n := names(filepath.Dir(path)); len(n) != 1 {
			t.Errorf("after Abort the folder holds %q", n)
		}
		if w.Write(samples) == nil || w.Close() == nil {
			t.Error("writing goes on after Abort")
		}
	})
	t.Run("wrong shape", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "take.wav")
		w := start(t, path)
		if w.Write(noise(2, 1)) == nil {
			t.Error("two channels go into a mono file")
		}
		if w.Write(nil) == nil {
			t.Error("no channels go into a mono file")
		}
		w.Abort()
	})
	t.Run("through a link", func(t *testing.T) {
		dir := t.TempDir()
		target, link := filepath.Join(dir, "target.wav"), filepath.Join(dir, "link.wav")
		if err := os.WriteFile(target, nil, 0o666); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(target, link); err != nil {
			t.Fatal(err)
		}
		write(t, link, f, samples)
		if info, err := os.Stat(target); err != nil || info.Size() < 300000 {
			t.Errorf("the link's target was not written: %v", err)
		}
	})
}

func TestCreateErrors(t *testing.T) {
	dir := t.TempDir()
	good := wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 24}
	tests := []struct {
		name   string
		path   string
		format wavfile.Format
		want   string
	}{
		{"no folder", filepath.Join(dir, "none", "a.wav"), good, "there is no folder"},
		{"a folder", dir, good, "not a regular file"},
		{"8 bits", filepath.Join(dir, "a.wav"), wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 8}, "only 16 and 24-bit"},
		{"64-bit float", filepath.Join(dir, "a.wav"), wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 64, Float: true}, "only 16 and 24-bit"},
		{"no channels", filepath.Join(dir, "a.wav"), wavfile.Format{SampleRate: 48000, Bits: 24}, "0 channels"},
		{"no rate", filepath.Join(dir, "a.wav"), wavfile.Format{Channels: 1, Bits: 24}, "0 Hz"},
	}
	for _, tt := range tests {
		w, err := wavfile.Create(tt.path, tt.format)
		if err == nil {
			w.Abort()
			t.Errorf("%s: no error", tt.name)
		} else if !strings.HasPrefix(err.Error(), tt.path+": ") || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}
