package meter_test

import (
	"testing"

	"slowneedle/audio/meter"
)

// perSample runs f over blocks of 4096 frames of struck sounds and reports the
// time a sample of one channel.
func perSample(b *testing.B, channels int, f func([]float32)) {
	x := struck(7, 1<<18)
	b.ReportAllocs()
	b.ResetTimer()
	n := 0
	for b.Loop() {
		at := n << 12 & (len(x) - 1)
		f(x[at : at+4096])
		n++
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n)/4096/float64(channels), "ns/sample")
}

func BenchmarkNeedle(b *testing.B)     { perSample(b, 1, meter.NewNeedle(48000).Process) }
func BenchmarkReader(b *testing.B)     { perSample(b, 1, meter.NewReader(48000).Process) }
func BenchmarkSamplePeak(b *testing.B) { perSample(b, 1, new(meter.SamplePeak).Process) }
func BenchmarkProgramme(b *testing.B)  { perSample(b, 1, meter.NewProgramme(48000).Process) }
func BenchmarkRMS(b *testing.B)        { perSample(b, 1, new(meter.RMS).Process) }

func BenchmarkLamp(b *testing.B) {
	l := meter.NewLamp(48000, -6, 0.15)
	perSample(b, 2, func(x []float32) { l.Process(x, x) })
}

func BenchmarkLoudness(b *testing.B) {
	l, err := meter.NewLoudness(48000, 2)
	if err != nil {
		b.Fatal(err)
	}
	perSample(b, 2, func(x []float32) { l.Process(x, x) })
}

// A loop of 16 s, as rounds are made of.
func BenchmarkReadLoop(b *testing.B) {
	x := struck(9, 16*48000)
	for b.Loop() {
		meter.ReadLoop(x, 48000)
	}
}

func BenchmarkNewLampMap(b *testing.B) {
	x := struck(9, 16*48000)
	for b.Loop() {
		meter.NewLampMap(48000, 0.15, x)
	}
}

// All 481 settings of a fader from -36 to +12 dB.
func BenchmarkLampMapSweep(b *testing.B) {
	m := meter.NewLampMap(48000, 0.15, struck(9, 16*48000))
	b.ReportAllocs()
	for b.Loop() {
		for i := -360; i <= 120; i++ {
			m.At(-6 - float64(i)/10)
		}
	}
}
