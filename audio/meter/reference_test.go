package meter_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"slowneedle/audio/meter"
)

// writeFloat writes a 32-bit float WAV file: the plainest header there is, so that
// this check of the meters rests on nothing else of the project.
func writeFloat(t *testing.T, rate int, channels ...[]float32) string {
	t.Helper()
	size := 4 * len(channels) * len(channels[0])
	var b bytes.Buffer
	put := func(vs ...any) {
		for _, v := range vs {
			if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
				t.Fatal(err)
			}
		}
	}
	put([]byte("RIFF"), uint32(36+size), []byte("WAVEfmt "), uint32(16), uint16(3), uint16(len(channels)),
		uint32(rate), uint32(4*rate*len(channels)), uint16(4*len(channels)), uint16(32), []byte("data"), uint32(size))
	mixed := make([]float32, 0, size/4)
	for i := range channels[0] {
		for _, ch := range channels {
			mixed = append(mixed, ch[i])
		}
	}
	put(mixed)
	path := filepath.Join(t.TempDir(), "noise.wav")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// lastNumber returns the number that follows a name for the last time.
func lastNumber(t *testing.T, out []byte, name string) float64 {
	t.Helper()
	all := regexp.MustCompile(regexp.QuoteMeta(name)+`[\s=:]*(-?[0-9.]+)`).FindAllSubmatch(out, -1)
	if len(all) == 0 {
		t.Fatalf("no %q in:\n%s", name, out)
	}
	v, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func run(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
	return out
}

// Generated noise, white and coloured, steady and struck, against two general-purpose
// programs: ffmpeg's ebur128 filter and sox's stats.
func TestReferencePrograms(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000, 192000} {
		for _, kind := range []string{"white", "pink-like", "struck"} {
			t.Run(fmt.Sprintf("%s at %d Hz", kind, rate), func(t *testing.T) {
				left, right := noise(kind, rate, 1), noise(kind, rate, 2)
				path := writeFloat(t, rate, left, right)

				l := newLoudness(t, rate, 2)
				l.Process(left, right)
				out := run(t, "ffmpeg", "-nostats", "-hide_banner", "-i", path,
					"-af", "ebur128=peak=sample+true:metadata=1,ametadata=print:file=-", "-f", "null", "-")
				near(t, "integrated loudness, LUFS; ffmpeg", l.Integrated(), lastNumber(t, out, "lavfi.r128.I"), 0.1)
				near(t, "momentary loudness, LUFS; ffmpeg", l.Momentary(), lastNumber(t, out, "lavfi.r128.M"), 0.1)
				near(t, "short-term loudness, LUFS; ffmpeg", l.ShortTerm(), lastNumber(t, out, "lavfi.r128.S"), 0.1)
				t.Logf("integrated: %.3f LUFS, ffmpeg %.3f", l.Integrated(), lastNumber(t, out, "lavfi.r128.I"))
				for c, x := range [][]float32{left, right} {
					tp := truePeak(rate, x)
					theirs := db(lastNumber(t, out, fmt.Sprintf("lavfi.r128.true_peaks_ch%d", c)))
					// ffmpeg looks at 192 kHz whatever the rate: of white noise at a high
					// rate it misses peaks. An eightfold resampling by sox misses none,
					// but lets through the last tenth below half the rate, which the
					// filter of annex 2 and ours do not, so it is a measure where there is
					// next to nothing up there.
					if rate <= 48000 {
						near(t, "true peak, dBTP; ffmpeg", tp, theirs, 0.2)
					}
					if kind != "pink-like" {
						continue
					}
					const room = 12
					resampled := room + lastNumber(t, run(t, "sox", path, "-n", "remix", fmt.Sprint(c+1),
						"gain", fmt.Sprint(-room), "rate", "-v", fmt.Sprint(8*rate), "stats"), "Pk lev dB")
					near(t, "true peak, dBTP; sox", tp, resampled, 0.2)
					t.Logf("true peak: %.3f dBTP, ffmpeg %.3f, sox %.2f", tp, theirs, resampled)
				}

				stats := run(t, "sox", path, "-n", "remix", "1", "stats")
				sp, rms := new(meter.SamplePeak), new(meter.RMS)
				sp.Process(left)
				rms.Process(left)
				near(t, "sample peak, dBFS; sox", sp.Level(), lastNumber(t, stats, "Pk lev dB"), 0.01)
				near(t, "RMS, dB; sox", rms.Level(), lastNumber(t, stats, "RMS lev dB"), 0.02)
			})
		}
	}
}

func noise(kind string, rate int, seed uint64) []float32 {
	if kind == "struck" {
		return struck(seed, 8*rate)
	}
	rnd := rand.New(rand.NewPCG(seed, 99))
	x := make([]float32, 8*rate)
	var slow, middle float64
	for i := range x {
		v := 0.1 * rnd.NormFloat64()
		if kind != "white" {
			slow += 0.003 * (v - slow)
			middle += 0.1 * (v - middle)
			v = 8*slow + middle + 0.15*v
		}
		// Levels a gate has something to do with.
		x[i] = float32(v * math.Pow(10, -0.9*math.Floor(4*float64(i)/float64(len(x)))/2))
	}
	return x
}
