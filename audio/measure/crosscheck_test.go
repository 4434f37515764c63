package measure_test

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/measure"
)

// program runs a reference program and returns what it printed on both streams.
func program(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, out)
	}
	return string(out)
}

// recordings returns some of the WAV files that a Debian package carries, evenly chosen.
func recordings(t *testing.T, pkg string, count int) []string {
	t.Helper()
	var all []string
	for path := range strings.Lines(program(t, "dpkg", "-L", pkg)) {
		if path = strings.TrimSpace(path); strings.HasSuffix(path, ".wav") {
			all = append(all, path)
		}
	}
	if len(all) < count {
		t.Fatalf("package %s has %d recordings; install it", pkg, len(all))
	}
	slices.Sort(all)
	var some []string
	for i := range count {
		some = append(some, all[i*len(all)/count])
	}
	return some
}

// soxLevels returns the sample peak and the RMS of the higher channel by sox, as AES17 counts them, from the amplitudes, which
// sox prints with six decimals, its levels with two.
func soxLevels(t *testing.T, path string) (peak, rms float64) {
	t.Helper()
	peak, rms = math.Inf(-1), math.Inf(-1)
	channels, err := strconv.Atoi(strings.TrimSpace(program(t, "soxi", "-c", path)))
	if err != nil {
		t.Fatal(err)
	}
	for c := range channels {
		stat := program(t, "sox", path, "-n", "remix", fmt.Sprint(c+1), "stat")
		high, low := number(t, stat, `Maximum amplitude:\s+(\S+)`), number(t, stat, `Minimum amplitude:\s+(\S+)`)
		peak = max(peak, audio.DB(max(high, -low)))
		rms = max(rms, audio.DB(math.Sqrt2*number(t, stat, `RMS\s+amplitude:\s+(\S+)`)))
	}
	return peak, rms
}

func number(t *testing.T, text, pattern string) float64 {
	t.Helper()
	found := regexp.MustCompile(pattern).FindAllStringSubmatch(text, -1)
	if found == nil {
		t.Fatalf("no %s in\n%s", pattern, text)
	}
	v, err := strconv.ParseFloat(found[len(found)-1][1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// ebur128 returns what ffmpeg's meter prints: all along and in summary.
func ebur128(t *testing.T, path string) string {
	t.Helper()
	return program(t, "ffmpeg", "-nostats", "-nostdin", "-i", path,
		"-af", "ebur128=peak=true:metadata=1,ametadata=mode=print:file=-", "-f", "null", "-")
}

// ffmpegTruePeak returns the true peak from what ebur128 printed. The level in the summary has one decimal,
// the amplitude all along three; the finer of the two is taken, which is the level below -24 dBFS. Of less than
// a tenth of a second there is only the level.
func ffmpegTruePeak(t *testing.T, printed string) float64 {
	t.Helper()
	level := number(t, printed, `True peak:\s+Peak:\s+(\S+) dBFS`)
	if level < -24 || !strings.Contains(printed, "lavfi.r128.true_peak=") {
		return level
	}
	return audio.DB(number(t, printed, `lavfi\.r128\.true_peak=(\S+)`))
}

// buildLibebur128 builds the reference program around libebur128.
func buildLibebur128(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ebur128")
	program(t, "cc", "-O2", "testdata/ebur128.c", "-o", path, "-lebur128", "-lm")
	return path
}

// TestCrossCheck measures real recordings and noise with this package and with sox, ffmpeg and libebur128.
// The recordings are spoken prompts, drum hits and test voices that Debian packages carry: single ones, and
// strung together so that the gates and the short-term window have something to do.
func TestCrossCheck(t *testing.T) {
	reference := buildLibebur128(t)
	dir := t.TempDir()
	voices := recordings(t, "alsa-utils", 9)
	prompts := recordings(t, "asterisk-core-sounds-en-wav", 12)
	hits := recordings(t, "hydrogen-data", 14)

	var files []string
	files = append(files, voices...)
	files = append(files, prompts...)
	files = append(files, hits...)
	made := func(name string, args ...string) {
		path := filepath.Join(dir, name)
		for i, a := range args {
			if a == "OUT" {
				args[i] = path
			}
		}
		program(t, "sox", append([]string{"-R", "-G"}, args...)...)
		files = append(files, path)
	}
	made("evening of voices.wav", append(slices.Clone(voices), "OUT", "repeat", "2")...)
	made("evening of prompts.wav", append(slices.Clone(prompts), "OUT")...)
	mono := slices.DeleteFunc(slices.Clone(hits), func(p string) bool { return strings.TrimSpace(program(t, "soxi", "-c", p)) != "1" })
	made("drum pattern.wav", append(slices.Clone(mono), "-b", "24", "OUT", "repeat", "3")...)
	made("quiet drum pattern.wav", append(slices.Clone(mono), "-b", "24", "OUT", "gain", "-30", "repeat", "3")...)
	made("drums in stereo.wav", append(slices.Clone(mono), "-b", "24", "OUT", "remix", "1v0.3", "1", "pad", "2", "5")...)
	// Up to 20 kHz, as sound has it: at 192 kHz ffmpeg takes the samples for the true peak as they are.
	for _, rate := range []string{"44100", "48000", "96000", "192000"} {
		made("pink noise "+rate+".wav", "-r", rate, "-n", "-c", "2", "-b", "24", "OUT", "synth", "5", "pinknoise", "sinc", "-20000", "gain", "-3", "fade", "1", "5", "2")
		made("white noise "+rate+".wav", "-r", rate, "-n", "-c", "1", "-e", "float", "OUT", "synth", "4", "whitenoise", "vol", "0.2", "sinc", "-20000")
	}

	type deviation struct {
		what string
		most float64
		file string
	}
	worst := map[string]*deviation{}
	compared := 0
	check := func(t *testing.T, file, what string, got measure.Level, want, tolerance float64) {
		t.Helper()
		d := math.Abs(float64(got) - want)
		if !(d <= tolerance) {
			t.Errorf("%s: %.3f, the reference says %.3f", what, got, want)
		}
		if worst[what] == nil {
			worst[what] = &deviation{what: what}
		}
		if d > worst[what].most {
			worst[what].most, worst[what].file = d, filepath.Base(file)
		}
		compared++
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			got, err := measure.File(file, measure.Default(), nil)
			if err != nil {
				t.Fatal(err)
			}
			peak, rms := soxLevels(t, file)
			check(t, file, "sample peak, sox", got.SamplePeak, peak, 0.01)
			check(t, file, "RMS, sox", got.RMS, rms, 0.02)

			byFFmpeg := ebur128(t, file)
			check(t, file, "true peak, ffmpeg", got.TruePeak, ffmpegTruePeak(t, byFFmpeg), 0.2)

			// BS.1770-5 asks for the same frequency response at every rate. Both references leave the numerator
			// of the high-pass as it is at 48 kHz, which at 8 kHz makes them 0.215 dB too loud throughout; so
			// their loudness of low-rate recordings is taken after sox has brought them to 48 kHz.
			loudFile, loudRate := file, got.SampleRate
			if got.SampleRate < 44100 {
				loudFile, loudRate = filepath.Join(t.TempDir(), "48k.wav"), 48000
				program(t, "sox", file, "-e", "floating-point", "-b", "32", loudFile, "rate", "-v", "48000")
				byFFmpeg = ebur128(t, loudFile)
			}
			raw, err := exec.Command("sox", loudFile, "-t", "f64", "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			lib := exec.Command(reference, fmt.Sprint(got.Channels), fmt.Sprint(loudRate))
			lib.Stdin = bytes.NewReader(raw)
			out, err := lib.Output()
			if err != nil {
				t.Fatal(err)
			}
			var integrated, momentary, shortTerm, libPeak, libTrue float64
			if _, err := fmt.Sscan(string(out), &integrated, &momentary, &shortTerm, &libPeak, &libTrue); err != nil {
				t.Fatalf("libebur128 says %q: %v", out, err)
			}
			if loudFile == file {
				check(t, file, "sample peak, libebur128", got.SamplePeak, libPeak, 0.01)
				// With twelve taps a phase it misses peaks near half the sample rate, so this holds one way only.
				if float64(got.TruePeak) < libTrue-0.2 {
					t.Errorf("true peak: %.3f, libebur128 finds one of %.3f", got.TruePeak, libTrue)
				}
			}
			if math.IsInf(integrated, -1) {
				if got.Integrated.Exists() {
					t.Errorf("integrated loudness %.2f, libebur128 says there is none", got.Integrated)
				}
				return
			}
			check(t, file, "integrated, libebur128", got.Integrated, integrated, 0.1)
			check(t, file, "integrated, ffmpeg", got.Integrated, number(t, byFFmpeg, `lavfi\.r128\.I=(\S+)`), 0.1)
			if !math.IsInf(momentary, -1) {
				check(t, file, "momentary maximum, libebur128", got.MomentaryMax, momentary, 0.1)
			}
			if !math.IsInf(shortTerm, -1) {
				check(t, file, "short-term maximum, libebur128", got.ShortTermMax, shortTerm, 0.1)
			}
		})
	}
	var list []*deviation
	for _, d := range worst {
		list = append(list, d)
	}
	slices.SortFunc(list, func(a, b *deviation) int { return cmp.Compare(a.what, b.what) })
	for _, d := range list {
		t.Logf("%-32s off by %.3f at most (%s)", d.what, d.most, d.file)
	}
	t.Logf("%d values of %d files compared", compared, len(files))
}
