package measure_test

import (
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"slowneedle/audio/measure"
)

var benchFolder string

func TestMain(m *testing.M) {
	code := m.Run()
	if benchFolder != "" {
		os.RemoveAll(benchFolder)
	}
	os.Exit(code)
}

// tenMinutes makes the file of the benchmarks once: pink noise that swells and fades, stereo, 24-bit, 48 kHz.
var tenMinutes = sync.OnceValue(func() string {
	benchFolder, _ = os.MkdirTemp("", "measure")
	return filepath.Join(benchFolder, "ten minutes.wav")
})

func benchFile(b *testing.B) string {
	path := tenMinutes()
	if _, err := os.Stat(path); err != nil {
		program(b, "sox", "-R", "-G", "-r", "48000", "-n", "-c", "2", "-b", "24", path,
			"synth", "600", "pinknoise", "pinknoise", "tremolo", "0.2", "80", "gain", "-1")
	}
	return path
}

// byFFmpeg runs the reference: the meter of ffmpeg with true peak.
func byFFmpeg(b *testing.B, path string) {
	program(b, "ffmpeg", "-nostdin", "-nostats", "-i", path, "-af", "ebur128=peak=true", "-f", "null", "-")
}

func byMeasure(b *testing.B, path string) {
	if _, err := measure.File(path, measure.Default(), nil); err != nil {
		b.Fatal(err)
	}
}

func BenchmarkMeasure(b *testing.B) {
	path := benchFile(b)
	for b.Loop() {
		byMeasure(b, path)
	}
	const samples = 2 * 600 * 48000
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/samples, "ns/sample")
	b.ReportMetric(600*float64(b.N)/b.Elapsed().Seconds(), "x-real-time")
}

func BenchmarkFFmpeg(b *testing.B) {
	path := benchFile(b)
	for b.Loop() {
		byFFmpeg(b, path)
	}
}

// BenchmarkRatio runs both in turns, so that a busy machine troubles both alike, and reports how many times
// faster the best run is than the reference's best.
func BenchmarkRatio(b *testing.B) {
	path := benchFile(b)
	ours, theirs := time.Duration(math.MaxInt64), time.Duration(math.MaxInt64)
	for b.Loop() {
		start := time.Now()
		byMeasure(b, path)
		ours = min(ours, time.Since(start))
		start = time.Now()
		byFFmpeg(b, path)
		theirs = min(theirs, time.Since(start))
	}
	b.ReportMetric(theirs.Seconds()/ours.Seconds(), "times-faster")
}
