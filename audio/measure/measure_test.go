package measure_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slowneedle/audio/measure"
	"slowneedle/audio/wavfile"
)

// sox makes a file by name in a fresh folder; the arguments contain OUT where the name goes.
func sox(t testing.TB, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "made.wav")
	args = slices.Clone(args)
	args[slices.Index(args, "OUT")] = path
	program(t, "sox", append([]string{"-R", "-D"}, args...)...)
	return path
}

func file(t testing.TB, path string) measure.Result {
	t.Helper()
	r, err := measure.File(path, measure.Default(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got measure.Level, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= tolerance) {
		t.Errorf("%s is %.3f, want %.3f", what, got, want)
	}
}

// exact is how close a sine must be read, in dB: the needle's own overshoot, 1 to 1.5 % from rest
// (IEC 60268-17), is not the tone's.
const exact = 0.01

// TestLineUp: the line-up tone of EBU R 68, a 1 kHz sine at -18 dBFS, stands at 0 VU, does not under-read,
// has an RMS of -18 dBFS as AES17 counts it and, in both channels of stereo, a loudness of -18 LUFS within the
// 0.1 LU of EBU Tech 3341 (at 997 Hz a full-scale sine in one channel is -3.01 LUFS by BS.1770-5).
func TestLineUp(t *testing.T) {
	r := file(t, sox(t, "-r", "48000", "-n", "-c", "2", "-b", "24", "OUT", "synth", "10", "sine", "997", "gain", "-18"))
	near(t, "reading", r.Reading, 0, exact)
	near(t, "sample peak", r.SamplePeak, -18, 0.01)
	near(t, "true peak", r.TruePeak, -18, 0.05)
	near(t, "under-read", r.UnderRead, 0, exact)
	near(t, "RMS", r.RMS, -18, 0.01)
	near(t, "integrated loudness", r.Integrated, -18, 0.1)
	near(t, "momentary maximum", r.MomentaryMax, -18, 0.1)
	near(t, "short-term maximum", r.ShortTermMax, -18, 0.1)
	// The movement overshoots a step by 1 to 1.5 %, 0.09 to 0.13 dB (IEC 60268-17).
	if r.NeedleMax < 0.08 || r.NeedleMax > 0.14 {
		t.Errorf("the needle went to %.3f VU", r.NeedleMax)
	}
	if r.LampFlicks != 0 || r.Clipped != 0 || r.Duration != 10 {
		t.Errorf("%d flicks, %d clipped samples, %v s", r.LampFlicks, r.Clipped, r.Duration)
	}
}

// TestReference: with another reference the needle moves and nothing else.
func TestReference(t *testing.T) {
	path := sox(t, "-r", "44100", "-n", "-b", "16", "OUT", "synth", "2", "sine", "1000", "gain", "-20")
	at18 := file(t, path)
	at20, err := measure.File(path, measure.Settings{ReferenceDBFS: -20, LampDBFS: -6}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "reading at -20", at20.Reading, 0, exact) // SMPTE RP 155
	near(t, "reading at -18", at18.Reading, -2, exact)
	near(t, "under-read", at20.UnderRead, float64(at18.UnderRead), 1e-9)
	near(t, "RMS", at20.RMS, float64(at18.RMS), 0)
}

// TestHigherChannel: of two alike the higher channel decides.
func TestHigherChannel(t *testing.T) {
	r := file(t, sox(t, "-r", "48000", "-n", "-c", "2", "-b", "24", "OUT", "synth", "3", "sine", "1000", "sine", "400", "remix", "1v0.1", "2v0.5"))
	near(t, "reading", r.Reading, 18-6.02, exact)
	near(t, "sample peak", r.SamplePeak, -6.02, 0.01)
	near(t, "RMS", r.RMS, -6.02, 0.01)
}

// TestDecidingChannel: the levels are those of one channel, the one that decides. Left a sine, right clicks:
// each for itself under-reads by 0 and by more than 50 dB, and neither is mixed with the other.
func TestDecidingChannel(t *testing.T) {
	for _, c := range []struct {
		clicks  string // factor
		decides int
	}{{"0.2", 1}, {"0.9", 2}} {
		// One full-scale sample a second against a sine of -20 dBFS.
		path := sox(t, "-r", "48000", "-n", "-c", "2", "-b", "24", "OUT", "synth", "0.001", "square", "500", "square", "500",
			"trim", "0", "1s", "pad", "0", "0.9999", "repeat", "9", "remix", "0", "2v"+c.clicks)
		sine := sox(t, "-r", "48000", "-n", "-c", "2", "-b", "24", "OUT", "synth", "10", "sine", "1000", "sine", "1000", "remix", "1v0.1", "0")
		both := filepath.Join(t.TempDir(), "both.wav")
		if out, err := exec.Command("sox", "-m", "-v", "1", path, "-v", "1", sine, both).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		r := file(t, both)
		if r.Decides != c.decides || len(r.ByChannel) != 2 || r.Levels != r.ByChannel[c.decides-1] {
			t.Errorf("clicks times %s: channel %d decides, want %d:\n%+v\n%+v", c.clicks, r.Decides, c.decides, r.Levels, r.ByChannel)
			continue
		}
		near(t, "under-read of the sine", r.ByChannel[0].UnderRead, 0, exact)
		near(t, "reading of the sine", r.ByChannel[0].Reading, -2, exact)
		if u := r.ByChannel[1].UnderRead; u < 50 {
			t.Errorf("the clicks under-read by %.1f dB", u)
		}
	}
}

// TestDirectCurrent: a constant moves no needle, from the first sample on, and is told as sox tells it.
func TestDirectCurrent(t *testing.T) {
	for _, rate := range []string{"44100", "48000", "192000"} {
		path := sox(t, "-r", rate, "-n", "-b", "24", "OUT", "synth", "4", "sine", "1000", "gain", "-39.5", "dcshift", "0.1")
		r, err := measure.File(path, measure.Settings{ReferenceDBFS: -39.5, LampDBFS: -6}, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, rate+" Hz: reading", r.Reading, 0, exact)
		near(t, rate+" Hz: needle's maximum", r.NeedleMax, 0.108, 0.03) // the overshoot of 1.25 %
		out, err := exec.Command("sox", path, "-n", "stats").CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		var want float64
		if _, err := fmt.Sscanf(string(out), "DC offset %f", &want); err != nil {
			t.Fatalf("%v in %s", err, out)
		}
		near(t, rate+" Hz: direct current, %", r.DC, 100*want, 0.001)
		near(t, rate+" Hz: sample peak, direct current included", r.SamplePeak, 20*math.Log10(0.1+math.Pow(10, -39.5/20)), 0.01)
	}
}

// TestLamp: ten bursts above the threshold, a second apart, are ten flicks; below it they are none.
func TestLamp(t *testing.T) {
	bursts := func(gain string) string {
		return sox(t, "-r", "48000", "-n", "-b", "24", "OUT", "synth", "0.1", "sine", "1000", "gain", gain, "pad", "0", "0.9", "repeat", "9")
	}
	if r := file(t, bursts("-5.9")); r.LampFlicks != 10 {
		t.Errorf("%d flicks at -5.9 dBFS, want 10", r.LampFlicks)
	}
	if r := file(t, bursts("-6.1")); r.LampFlicks != 0 {
		t.Errorf("%d flicks at -6.1 dBFS, want none", r.LampFlicks)
	}
}

// TestClipped counts the samples at full scale and compares with the codes as sox reads them.
func TestClipped(t *testing.T) {
	path := sox(t, "-r", "48000", "-n", "-c", "2", "-b", "16", "OUT", "synth", "0.5", "sine", "440", "whitenoise", "vol", "1.5")
	codes, err := exec.Command("sox", path, "-t", "s16", "-L", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	var want int64
	for ; len(codes) > 0; codes = codes[2:] {
		if v := int16(binary.LittleEndian.Uint16(codes)); v == 32767 || v <= -32767 {
			want++
		}
	}
	if r := file(t, path); r.Clipped != want || want < 1000 {
		t.Errorf("%d clipped samples, sox has %d at full scale", r.Clipped, want)
	}
}

// TestJSON: the keys are those of the contract, and what silence does not have is null.
func TestJSON(t *testing.T) {
	r := file(t, sox(t, "-r", "48000", "-n", "-c", "1", "-b", "16", "OUT", "trim", "0", "1"))
	r.File = "silence.wav"
	got, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"file":"silence.wav","sample_rate":48000,"channels":1,"bits":16,"float":false,"duration_s":1,` +
		`"reading_vu":null,"needle_max_vu":null,"sample_peak_dbfs":null,"true_peak_dbtp":null,"under_read_db":null,` +
		`"rms_dbfs":null,"dc_percent":0,"loudness_integrated_lufs":null,"loudness_momentary_max_lufs":null,` +
		`"loudness_short_term_max_lufs":null,"lamp_flicks":0,"clipped_samples":0,"deciding_channel":1}`
	if d := cmp.Diff(want, string(got)); d != "" {
		t.Error(d)
	}
	var back measure.Result
	if err := json.Unmarshal(got, &back); err != nil || back.Reading.Exists() {
		t.Errorf("read back: %v, reading %v", err, back.Reading)
	}
}

func TestLevelJSON(t *testing.T) {
	for level, want := range map[measure.Level]string{
		-18: "-18", -3.0103: "-3.0103", -3.01029996: "-3.0103", 1e-9: "0", -1e-9: "0", 0.5: "0.5",
		measure.Level(math.Inf(-1)): "null", measure.Level(math.Inf(1)): "null", measure.Level(math.NaN()): "null",
	} {
		if got, err := json.Marshal(level); err != nil || string(got) != want {
			t.Errorf("%v becomes %s (%v), want %s", float64(level), got, err, want)
		}
	}
}

// TestEveryShape: empty, one frame, many channels, low rates: what does not exist is missing, nothing fails.
func TestEveryShape(t *testing.T) {
	for _, rate := range []string{"1000", "8000", "384000"} {
		for _, channels := range []string{"1", "6", "8"} {
			for _, frames := range []string{"0s", "1s", "1001s"} {
				path := sox(t, "-r", rate, "-n", "-c", channels, "-b", "16", "OUT", "synth", "1", "whitenoise", "trim", "0", frames)
				r := file(t, path)
				if r.SamplePeak.Exists() != (frames != "0s") {
					t.Errorf("%s Hz, %s channels, %s: sample peak %v", rate, channels, frames, r.SamplePeak)
				}
				if _, err := json.Marshal(r); err != nil {
					t.Errorf("%s Hz, %s channels, %s: %v", rate, channels, frames, err)
				}
			}
		}
	}
}

// TestSameOnAnyCores: the result does not depend on how many cores there are.
func TestSameOnAnyCores(t *testing.T) {
	path := sox(t, "-r", "48000", "-n", "-c", "2", "-b", "24", "OUT", "synth", "5", "pinknoise", "pinknoise")
	all := file(t, path)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if d := cmp.Diff(all, file(t, path)); d != "" {
		t.Error(d)
	}
}

// TestMemory: a file ten times as long takes no more memory.
func TestMemory(t *testing.T) {
	allocated := func(seconds string) uint64 {
		path := sox(t, "-r", "48000", "-n", "-c", "2", "-b", "16", "OUT", "synth", seconds, "sine", "1000")
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		file(t, path)
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	short, long := allocated("6"), allocated("60")
	if long > short+64<<10 {
		t.Errorf("6 s allocate %d bytes, 60 s allocate %d", short, long)
	}
}

// TestProgress: it grows to the whole file.
func TestProgress(t *testing.T) {
	path := sox(t, "-r", "48000", "-n", "-b", "16", "OUT", "synth", "3", "sine", "1000")
	var last int64
	if _, err := measure.File(path, measure.Default(), func(done, frames int64) {
		if done <= last || frames != 144000 {
			t.Errorf("%d of %d frames after %d", done, frames, last)
		}
		last = done
	}); err != nil {
		t.Fatal(err)
	}
	if last != 144000 {
		t.Errorf("ended at %d frames", last)
	}
}

// failing is a medium that fails half-way.
type failing struct {
	io.ReadSeeker
	left int
}

func (f *failing) Read(b []byte) (int, error) {
	if f.left <= 0 {
		return 0, io.ErrClosedPipe
	}
	n, err := f.ReadSeeker.Read(b[:min(len(b), f.left)])
	f.left -= n
	return n, err
}

func TestFailingMedium(t *testing.T) {
	head := "RIFF\xFF\xFF\xFF\xFFWAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\xBB\x00\x00\x00\x77\x01\x00\x02\x00\x10\x00data\xFF\xFF\xFF\xFF"
	r, err := wavfile.NewReader(&failing{bytes.NewReader(append([]byte(head), make([]byte, 1<<20)...)), 1 << 19})
	if err != nil {
		t.Fatal(err)
	}
	before := runtime.NumGoroutine()
	if _, err := measure.Stream(r, measure.Default(), nil); err == nil || !strings.Contains(err.Error(), "reading samples") {
		t.Errorf("error %v", err)
	}
	if after := runtime.NumGoroutine(); after > before {
		t.Errorf("%d goroutines before, %d after", before, after)
	}
}
