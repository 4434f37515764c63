package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/series"
)

// command runs the command line and returns what it printed.
func command(t *testing.T, args ...string) []byte {
	t.Helper()
	out, err := os.CreateTemp(t.TempDir(), "out")
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	if status := run(args, streams{out: out, err: os.Stderr}); status != 0 {
		t.Fatalf("markbook %v: status %d", args, status)
	}
	if _, err := out.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(out)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// found returns the number that a pattern finds in a program's output.
func found(t *testing.T, pattern string, program string, args ...string) float64 {
	t.Helper()
	out, err := exec.Command(program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", program, args, err, out)
	}
	m := regexp.MustCompile(pattern).FindSubmatch(out)
	if m == nil {
		t.Fatalf("%s %v: no %s in\n%s", program, args, pattern, out)
	}
	v, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.3f dB, want %.3f within %g", what, got, want, tolerance)
	}
}

// What is rendered has the levels that the round says, measured by two
// general-purpose programs: sox and ffmpeg.
func TestRenderedLevels(t *testing.T) {
	for _, family := range []string{"steady", "voice", "plucked", "struck", "ensemble"} {
		t.Run(family, func(t *testing.T) {
			which := []string{"--seed=21", "--family=" + family, "--rig=digital"}
			var r struct {
				SamplePeak float64 `json:"sample_peak_dbfs"`
				Aim        float64 `json:"aim_db"`
			}
			if err := json.Unmarshal(command(t, append([]string{"round", "--json"}, which...)...), &r); err != nil {
				t.Fatal(err)
			}
			var rms, byFFmpeg []float64 // RMS levels by sox and by ffmpeg
			faders := []float64{r.Aim, r.Aim - 3.5, r.Aim - 12}
			for _, fader := range faders {
				wav := filepath.Join(t.TempDir(), "take.wav")
				command(t, append([]string{"render", "-o", wav, fmt.Sprintf("--fader=%.1f", fader)}, which...)...)
				peak := found(t, `Pk lev dB +(\S+)`, "sox", wav, "-n", "stats")
				within(t, "peak by sox", peak, r.SamplePeak+fader, 0.1)
				within(t, "peak by ffmpeg", found(t, `max_volume: (\S+) dB`, "ffmpeg", "-nostats", "-i", wav, "-af", "volumedetect", "-f", "null", "-"),
					r.SamplePeak+fader, 0.1)
				within(t, "peak by ffmpeg astats", found(t, `(?s)Overall.*Peak level dB: (\S+)`, "ffmpeg", "-nostats", "-i", wav, "-af", "astats", "-f", "null", "-"),
					r.SamplePeak+fader, 0.1)
				rms = append(rms, found(t, `RMS lev dB +(\S+)`, "sox", wav, "-n", "stats"))
				byFFmpeg = append(byFFmpeg, found(t, `(?s)Overall.*RMS level dB: (\S+)`, "ffmpeg", "-nostats", "-i", wav, "-af", "astats", "-f", "null", "-"))
			}
			// The average shifts by as much as the fader, as the needle does.
			for i, fader := range faders {
				within(t, fmt.Sprintf("RMS by sox, fader at %+.1f dB", fader), rms[i]-rms[0], fader-faders[0], 0.1)
				within(t, fmt.Sprintf("RMS by ffmpeg, fader at %+.1f dB", fader), byFFmpeg[i]-byFFmpeg[0], fader-faders[0], 0.1)
			}
		})
	}
}

// On a sine the needle is exact: its reading is the level that sox and ffmpeg
// measure. A full-scale sine is 0 dBFS (AES17), its RMS level 3.01 dB below.
func TestSineReading(t *testing.T) {
	which := []string{"--seed=9", "--family=steady", "--rig=digital"}
	var r struct {
		Kind       string  `json:"kind"`
		Reading    float64 `json:"reading_vu"`
		Reference  float64 `json:"reference_dbfs"`
		SamplePeak float64 `json:"sample_peak_dbfs"`
	}
	if err := json.Unmarshal(command(t, append([]string{"round", "--json"}, which...)...), &r); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(r.Kind, "tone") {
		t.Fatalf("the source is %q; this test needs a seed whose source is a tone", r.Kind)
	}
	for _, fader := range []float64{3.8, -6.4, -20} {
		wav := filepath.Join(t.TempDir(), "tone.wav")
		command(t, append([]string{"render", "-o", wav, fmt.Sprintf("--fader=%.1f", fader)}, which...)...)
		at := fmt.Sprintf(", fader at %+.1f dB", fader)
		rms := r.Reading + r.Reference + fader - 20*math.Log10(math.Sqrt2)
		within(t, "RMS by sox"+at, found(t, `RMS lev dB +(\S+)`, "sox", wav, "-n", "stats"), rms, 0.1)
		within(t, "RMS by ffmpeg"+at, found(t, `(?s)Overall.*RMS level dB: (\S+)`, "ffmpeg", "-nostats", "-i", wav, "-af", "astats", "-f", "null", "-"), rms, 0.1)
		peak := r.SamplePeak + fader
		within(t, "peak by sox"+at, found(t, `Pk lev dB +(\S+)`, "sox", wav, "-n", "stats"), peak, 0.1)
		within(t, "peak by ffmpeg"+at, found(t, `(?s)Overall.*Peak level dB: (\S+)`, "ffmpeg", "-nostats", "-i", wav, "-af", "astats", "-f", "null", "-"), peak, 0.1)
	}
}

// The line-up tone of a series has the level of 0 VU.
func TestLineUpTone(t *testing.T) {
	rig := drills.DigitalRig()
	wav := filepath.Join(t.TempDir(), "line-up.wav")
	command(t, "render", "--seed=3", "--rounds=1", "--seconds=1", "--gap=0", "-o", wav)
	rms := found(t, `RMS lev dB +(\S+)`, "sox", wav, "-n", "trim", "1", "8", "stats")
	within(t, "line-up tone by sox", rms+20*math.Log10(math.Sqrt2), rig.ReferenceDBFS, 0.02)
}

// Each round of a series stands where the answer sheet says, at the level it
// says, with silence around it.
func TestSeries(t *testing.T) {
	dir := t.TempDir()
	wav := filepath.Join(dir, "class.wav")
	var sheet series.Answers
	if err := json.Unmarshal(command(t, "render", "--seed=5", "--rounds=5", "--seconds=18", "--gap=2", "--json", "-o", wav), &sheet); err != nil {
		t.Fatal(err)
	}
	if len(sheet.Rounds) != 5 {
		t.Fatalf("%d rounds on the answer sheet, want 5", len(sheet.Rounds))
	}
	at := sheet.LineUp.EndS
	for _, r := range sheet.Rounds {
		within(t, "silence before the round", r.StartS-at, 2, 1e-6)
		if rms := found(t, `Pk lev dB +(\S+)`, "sox", wav, "-n", "trim", fmt.Sprint(at), "2", "stats"); rms > -100 {
			t.Errorf("round %d: %v dB before it, want silence", r.Number, rms)
		}
		peak := found(t, `Pk lev dB +(\S+)`, "sox", wav, "-n", "trim", fmt.Sprint(r.StartS), fmt.Sprint(r.EndS-r.StartS), "stats")
		within(t, fmt.Sprintf("peak of round %d by sox", r.Number), peak, r.PeakDBFS, 0.1)
		// Brought up to the aim on a desk that was lined up on the tone, the
		// peaks stay below the ceiling and the needle at or below the target.
		if r.PeakDBFS+r.AimDB > sheet.Rig.CeilingDBFS+0.001 || r.ReadingVU+r.AimDB > sheet.Rig.TargetVU+0.001 {
			t.Errorf("round %d: aim %v dB too high for %v dBFS, %v VU", r.Number, r.AimDB, r.PeakDBFS, r.ReadingVU)
		}
		at = r.EndS
	}
	within(t, "length", sheet.Seconds, at, 1e-6)
}
