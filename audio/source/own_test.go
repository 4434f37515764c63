package source

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/wavfile"
)

// sox runs sox, which the tests of this house require.
func sox(t *testing.T, args ...string) string {
	t.Helper()
	var errs bytes.Buffer
	c := exec.Command("sox", args...)
	c.Stderr = &errs
	if err := c.Run(); err != nil {
		t.Fatalf("sox %v: %v: %s", args, err, errs.String())
	}
	return errs.String()
}

func recording(t *testing.T, path string) *wavfile.Reader {
	t.Helper()
	r, err := wavfile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

// level returns the level of a frequency in x, in dB relative to full scale, by
// one bin of a Fourier sum under a Blackman-Harris window, whose side lobes lie
// 92 dB down.
func level(x []float32, hz float64) float64 {
	var re, im, w float64
	for i, v := range x {
		t := 2 * math.Pi * float64(i) / float64(len(x))
		h := 0.35875 - 0.48829*math.Cos(t) + 0.14128*math.Cos(2*t) - 0.01168*math.Cos(3*t)
		s, c := math.Sincos(2 * math.Pi * hz / audio.Rate * float64(i))
		re += h * float64(v) * c
		im += h * float64(v) * s
		w += h
	}
	return audio.DB(2 * math.Hypot(re, im) / w)
}

// Tones that sox wrote at other sample rates keep their level up to 0.9 of the
// lower half rate, against sox's own resampling of the same file, and leave no
// image.
func TestResample(t *testing.T) {
	dir := t.TempDir()
	for _, rate := range []int{8000, 11025, 16000, 22050, 32000, 37801, 44100, 88200, 96000, 192000} {
		t.Run(strconv.Itoa(rate), func(t *testing.T) {
			t.Parallel()
			half := float64(min(rate, audio.Rate)) / 2
			for _, part := range []float64{0.05, 0.5, 0.9} {
				hz := math.Round(part * half)
				in := filepath.Join(dir, fmt.Sprintf("%d-%.0f.wav", rate, hz))
				ref := filepath.Join(dir, fmt.Sprintf("%d-%.0f-48k.wav", rate, hz))
				sox(t, "-r", strconv.Itoa(rate), "-n", "-b", "32", "-e", "float", "-c", "1", in, "synth", "1.5", "sine", strconv.Itoa(int(hz)), "gain", "-12")
				sox(t, in, "-b", "32", "-e", "float", ref, "rate", "-v", "48000")
				r := recording(t, in)
				o, err := check(r, nil)
				if err != nil {
					t.Fatal(err)
				}
				p, err := o.around(int64(rate)/4, int64(rate))
				if err != nil {
					t.Fatal(err)
				}
				y := resample(p[0], rate, audio.Rate, audio.Rate, o.pause)
				want := wavfile.NewBlock(1, audio.Rate)
				rr := recording(t, ref)
				if err := rr.SeekFrame(audio.Rate / 4); err != nil {
					t.Fatal(err)
				}
				if _, err := rr.Read(want); err != nil {
					t.Fatal(err)
				}
				got, sx := level(y, hz), level(want[0], hz)
				if math.Abs(got-sx) > 0.1 || math.Abs(got+12) > 0.1 {
					t.Errorf("tone of %.0f Hz: level %.2f dBFS, sox says %.2f, it was -12", hz, got, sx)
				}
				// Images stand at multiples of the file's rate, plus and minus the tone.
				if rate < audio.Rate {
					for _, image := range []float64{float64(rate) - hz, float64(rate) + hz, 2*float64(rate) - hz} {
						if image < audio.Rate/2 {
							if l := level(y, image) + 12; l > -80 {
								t.Errorf("tone of %.0f Hz: image at %.0f Hz, %.1f dB", hz, image, l)
							}
						}
					}
				}
			}
			if rate > audio.Rate { // what lies above the new half rate must go
				in := filepath.Join(dir, fmt.Sprintf("%d-high.wav", rate))
				sox(t, "-r", strconv.Itoa(rate), "-n", "-b", "32", "-e", "float", "-c", "1", in, "synth", "1.5", "sine", "27000", "gain", "-12")
				r := recording(t, in)
				o, err := check(r, nil)
				if err != nil {
					t.Fatal(err)
				}
				p, err := o.around(int64(rate)/4, int64(rate))
				if err != nil {
					t.Fatal(err)
				}
				y := resample(p[0], rate, audio.Rate, audio.Rate, o.pause)
				if l := level(y, 21000) + 12; l > -80 {
					t.Errorf("27 kHz comes back at 21 kHz, %.1f dB", l)
				}
			}
		})
	}
}

func TestFromRecording(t *testing.T) {
	dir := t.TempDir()
	file := func(name string, args ...string) string {
		path := filepath.Join(dir, name)
		sox(t, append([]string{"-R", "-r", "44100", "-n", "-b", "16", path}, args...)...)
		return path
	}
	// Half a minute of silence, then noise, so that a passage must be sought.
	late := file("late.wav", "synth", "6", "pinknoise", "gain", "-20", "pad", "90", "40")
	for _, c := range []struct {
		path     string
		lo, hi   float64 // seconds
		channels int
	}{
		{file("second.wav", "synth", "1.1", "sine", "440", "channels", "1"), 0.9, 1.1, 1},
		{file("short.wav", "synth", "7", "pinknoise", "channels", "2"), 6.9, 7, 2},
		{file("long.wav", "synth", "75", "pinknoise", "channels", "2"), 10, 16, 2},
		{file("four.wav", "synth", "20", "sine", "300", "channels", "4"), 10, 16, 2},
		{late, 10, 16, 1},
	} {
		for seed := range uint64(4) {
			s, err := FromRecording(recording(t, c.path), c.path, seed, nil)
			if err != nil {
				t.Fatal(err)
			}
			if sec := float64(s.Len()) / audio.Rate; sec < c.lo || sec > c.hi {
				t.Errorf("%s: %.2f s long, want %.1f to %.1f", s.Kind, sec, c.lo, c.hi)
			}
			if len(s.Channels) != c.channels || s.Kind != filepath.Base(c.path) || s.Family != Own {
				t.Errorf("%s: %d channels, kind %q, family %q", c.path, len(s.Channels), s.Kind, s.Family)
			}
			peak := 0.0
			for _, x := range s.Channels {
				for _, v := range x {
					peak = max(peak, math.Abs(float64(v)))
				}
			}
			if math.Abs(audio.DB(peak)-PeakDBFS) > 1e-4 {
				t.Errorf("%s: peak %.4f dBFS", s.Kind, audio.DB(peak))
			}
		}
	}
}

func TestFromRecordingSeeds(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sweep.wav")
	sox(t, "-r", "48000", "-n", "-b", "16", "-c", "1", path, "synth", "300", "sine", "100-5000")
	seen := map[float32]bool{}
	for seed := range uint64(12) {
		s, err := FromRecording(recording(t, path), path, seed, nil)
		if err != nil {
			t.Fatal(err)
		}
		again, _ := FromRecording(recording(t, path), path, seed, nil)
		if s.Channels[0][5000] != again.Channels[0][5000] {
			t.Errorf("seed %d: two passages", seed)
		}
		seen[s.Channels[0][5000]] = true
	}
	if len(seen) < 12 {
		t.Errorf("12 seeds chose %d passages", len(seen))
	}
}

func TestFromRecordingRefuses(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		name string
		say  string
		rate string
		args []string
	}{
		{"brief.wav", "brief.wav: it lasts 0.5 s; a round needs at least 1 s", "48000", []string{"trim", "0", "0.5"}},
		{"still.wav", "still.wav: it holds nothing but silence; choose a recording with sound in it", "48000", []string{"trim", "0", "5"}},
		{"stilllong.wav", "stilllong.wav: it holds nothing but silence; choose a recording with sound in it", "48000", []string{"trim", "0", "200"}},
		{"slow.wav", "slow.wav: its sample rate is 4000 Hz; save it at 8000 to 192000 Hz", "4000", []string{"synth", "3", "sine", "300"}},
	} {
		path := filepath.Join(dir, c.name)
		sox(t, append([]string{"-r", c.rate, "-n", "-b", "16", "-c", "1", path}, c.args...)...)
		_, err := FromRecording(recording(t, path), path, 1, nil)
		if err == nil || !strings.HasPrefix(err.Error(), c.say) {
			t.Errorf("%s: %v, want %q", c.name, err, c.say)
		}
	}
}

// Of a very long recording the first half hour counts, and is not loaded whole.
func TestFromRecordingHalfHour(t *testing.T) {
	dir := t.TempDir()
	early, late := filepath.Join(dir, "early.wav"), filepath.Join(dir, "late.wav")
	sox(t, "-D", "-r", "8000", "-n", "-b", "8", "-c", "1", early, "synth", "20", "sine", "300", "pad", "1700", "200")
	sox(t, "-D", "-r", "8000", "-n", "-b", "8", "-c", "1", late, "synth", "100", "sine", "300", "pad", "1801")
	for seed := range uint64(3) {
		if _, err := FromRecording(recording(t, early), early, seed, nil); err != nil {
			t.Errorf("sound at 28 minutes is not found: %v", err)
		}
		if s, err := FromRecording(recording(t, late), late, seed, nil); err == nil {
			t.Errorf("sound after half an hour is used: %v", s.Kind)
		}
	}
}

// What people give: each is used, with a sentence about it where something is odd, or refused
// with one.
func TestOddRecordings(t *testing.T) {
	dir := t.TempDir()
	sound := []string{"synth", "20", "pinknoise", "vol", "0.5"}
	make := func(name, rate string, args ...string) string {
		path := filepath.Join(dir, name)
		sox(t, append([]string{"-R", "-D", "-r", rate, "-n", "-c", "1", "-b", "16", path}, args...)...)
		return path
	}
	// patch changes a file's samples behind a header of 44 bytes, or its length.
	patch := func(path string, size int64, to func(b []byte)) string {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if to != nil {
			to(b)
		}
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		if size > 0 {
			if err := os.Truncate(path, size); err != nil {
				t.Fatal(err)
			}
		}
		return path
	}
	const hours = 3 * 3600 * 48000 * 2 // bytes of three hours
	notNumbers := func(from, to float64) func(b []byte) {
		return func(b []byte) {
			at := bytes.Index(b, []byte("data")) + 8
			n := (len(b) - at) / 4
			for i := int(from * float64(n)); i < int(to*float64(n)); i++ {
				binary.LittleEndian.PutUint32(b[at+4*i:], 0x7FC00000)
			}
		}
	}
	float := func(name string) string {
		path := filepath.Join(dir, name)
		sox(t, append([]string{"-R", "-r", "44100", "-n", "-c", "1", "-b", "32", "-e", "float", path}, sound...)...)
		return path
	}
	cut := make("cut.flac", "44100", sound...)
	info, err := os.Stat(cut)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		path    string
		refused string // how the sentence goes on behind the name; empty: it is used
		odd     string // a sentence about what is used
	}{
		{make("silence.wav", "48000", "trim", "0", "20"), "it holds nothing but silence", ""},
		{make("short.wav", "48000", "synth", "0.2", "sine", "440"), "it lasts 0.2 s; a round needs at least 1 s", ""},
		{patch(make("hours.wav", "48000", sound...), 44+hours, func(b []byte) {
			binary.LittleEndian.PutUint32(b[4:], 36+hours)
			binary.LittleEndian.PutUint32(b[40:], hours)
		}), "", ""},
		{make("dc.wav", "48000", "trim", "0", "20", "dcshift", "0.5"), "it holds nothing but a constant level (DC)", ""},
		{make("dc-short.wav", "48000", "trim", "0", "5", "dcshift", "-0.2"), "it holds nothing but a constant level (DC)", ""},
		{make("dc-and-sound.wav", "48000", "synth", "20", "sine", "300", "vol", "0.2", "dcshift", "0.5"), "", ""},
		{make("8k.wav", "8000", sound...), "", ""},
		{make("192k.wav", "192000", sound...), "", ""},
		{make("7k.wav", "7000", sound...), "its sample rate is 7000 Hz; save it at 8000 to 192000 Hz", ""},
		{make("384k.wav", "384000", "synth", "3", "sine", "440"), "its sample rate is 384000 Hz; save it at 8000 to 192000 Hz", ""},
		{patch(float("nan.wav"), 0, notNumbers(0, 1)), "its samples are not numbers; export it again", ""},
		{patch(float("some-nan.wav"), 0, notNumbers(0.4, 0.6)), "", "samples are not numbers or are infinite; they were read as silence"},
		{patch(cut, info.Size()/2, nil), "", "the file is shorter than its header says; only what is there was read"},
	} {
		name := filepath.Base(c.path)
		begin := time.Now()
		r := recording(t, c.path)
		s, err := FromRecording(r, c.path, 3, nil)
		t.Logf("%s: %v, %v", name, time.Since(begin).Round(time.Millisecond), err)
		if c.refused != "" {
			if err == nil || !strings.HasPrefix(err.Error(), name+": "+c.refused) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s: %v, want it refused: %s", name, err, c.refused)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		odd := r.Warnings()
		if c.odd == "" && len(odd) > 0 || c.odd != "" && (len(odd) != 1 || !strings.Contains(odd[0].String(), c.odd)) {
			t.Errorf("%s: %q, want %q", name, odd, c.odd)
		}
		top, sum := 0.0, 0.0
		for _, v := range s.Channels[0] {
			top = max(top, math.Abs(float64(v)))
			sum += float64(v)
		}
		if math.Abs(audio.DB(top)-PeakDBFS) > 0.01 || math.Abs(sum)/float64(s.Len()) > 1e-3 {
			t.Errorf("%s: it peaks at %.2f dBFS and has a mean of %g", name, audio.DB(top), sum/float64(s.Len()))
		}
	}
}

// A passage of a recording goes round without a click: what plays across the
// seam is the recording itself, going on into its own beginning.
func TestFromRecordingSeam(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tone.wav")
	sox(t, "-r", "44100", "-n", "-b", "24", "-c", "2", path, "synth", "40", "sine", "331.7", "sine", "997.3", "gain", "-3")
	for seed := range uint64(10) {
		s, err := FromRecording(recording(t, path), path, seed, nil)
		if err != nil {
			t.Fatal(err)
		}
		for c, x := range s.Channels {
			if j := seam(x); j.step > 0.5 || j.treble > 3 || j.onset {
				t.Errorf("seed %d, channel %d: %+v", seed, c, j)
			}
		}
	}
}

func BenchmarkFromRecording(b *testing.B) {
	for _, rate := range []string{"48000", "44100", "96000"} {
		b.Run(rate, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "long.wav")
			if err := exec.Command("sox", "-r", rate, "-n", "-b", "16", "-c", "2", path, "synth", "60", "pinknoise").Run(); err != nil {
				b.Fatal(err)
			}
			r, err := wavfile.Open(path)
			if err != nil {
				b.Fatal(err)
			}
			defer r.Close()
			for i := range b.N {
				if _, err := FromRecording(r, path, uint64(i), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A passage without sound, as of another recording than the one it was chosen from, is
// called silent, and one of nothing but direct current is not.
func TestCutWithoutSound(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct{ shift, want string }{{"0", "nothing but silence"}, {"0.3", "nothing but a constant level"}} {
		path := filepath.Join(dir, c.shift+".wav")
		sox(t, "-R", "-D", "-r", "44100", "-n", "-c", "1", "-b", "16", path, "synth", "5", "pinknoise", "vol", "0.3", "pad", "5@5", "dcshift", c.shift)
		_, err := Cut(recording(t, path), path, Place{At: 6 * 44100, Frames: 2 * 44100}, nil)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("shifted by %s: %v, want %s", c.shift, err, c.want)
		}
	}
}

// Direct current leaves no trace, at the seam neither: a recording with it makes the
// same loop as one without.
func TestCutTakesOutDirectCurrent(t *testing.T) {
	dir := t.TempDir()
	var loops [2][]float32
	for i, shift := range []string{"0", "0.5"} {
		path := filepath.Join(dir, shift+".wav")
		sox(t, "-R", "-D", "-r", "44100", "-n", "-c", "1", "-b", "24", path, "synth", "20", "sine", "300", "vol", "0.2", "dcshift", shift)
		s, err := Cut(recording(t, path), path, Place{At: 44100, Frames: 10 * 44100}, nil)
		if err != nil {
			t.Fatal(err)
		}
		loops[i] = s.Channels[0]
	}
	for i, v := range loops[0] {
		if off := math.Abs(float64(v - loops[1][i])); off > 1e-3 {
			t.Fatalf("frame %d lies %.3f apart", i, off)
		}
	}
}
