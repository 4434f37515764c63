package meter_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio/meter"
)

// every makes one of every meter for a rate, with its processing and all it shows.
func every(rate int) []struct {
	name    string
	process func([]float32)
	show    func() string
} {
	needle, reader, lamp := meter.NewNeedle(rate), meter.NewReader(rate), meter.NewLamp(rate, -12, 0.01)
	sample, programme := new(meter.SamplePeak), meter.NewProgramme(rate)
	loudness, err := meter.NewLoudness(rate, 2)
	if err != nil {
		panic(err)
	}
	rms := &meter.RMS{Clip: 0.5}
	bits := func(vs ...float64) string {
		s := ""
		for _, v := range vs {
			s += fmt.Sprintf("%x ", math.Float64bits(v))
		}
		return s
	}
	return []struct {
		name    string
		process func([]float32)
		show    func() string
	}{
		{"needle", needle.Process, func() string { return bits(needle.Level(), needle.Position(), needle.MaxLevel()) }},
		{"reader", reader.Process, func() string { return fmt.Sprint(reader.Passage()) }},
		{"lamp", func(b []float32) { lamp.Process(b, b) }, func() string {
			return fmt.Sprint(lamp.Lit(), lamp.Flicks())
		}},
		{"sample peak", sample.Process, func() string { return bits(sample.Level()) }},
		{"programme", programme.Process, func() string { return bits(programme.Level()) }},
		{"loudness", func(b []float32) { loudness.Process(b, b) }, func() string {
			return bits(loudness.Momentary(), loudness.ShortTerm(), loudness.Integrated(), loudness.MaxMomentary(), loudness.MaxShortTerm())
		}},
		{"rms", rms.Process, func() string { return bits(rms.Level()) + fmt.Sprint(rms.Clipped()) }},
	}
}

// Any cut into blocks gives the same answer bit for bit.
func TestBlocks(t *testing.T) {
	for _, rate := range append([]int{8000, 11025, 22050, 384000}, rates...) {
		x := struck(uint64(rate), 2*rate+rate/7)
		whole := every(rate)
		for _, m := range whole {
			m.process(x)
		}
		for _, size := range []int{1, 64, 480, 4096, 0} {
			rnd := rand.New(rand.NewPCG(uint64(size), 1))
			for i, m := range every(rate) {
				if size == 1 && rate > 48000 {
					continue
				}
				for rest := x; len(rest) > 0; {
					n := size
					if size == 0 {
						n = rnd.IntN(3000)
					}
					n = min(n, len(rest))
					m.process(rest[:n])
					rest = rest[n:]
				}
				if got, want := m.show(), whole[i].show(); got != want {
					t.Errorf("%s at %d Hz, blocks of %d: %s, in one block %s", m.name, rate, size, got, want)
				}
			}
		}
	}
}

func TestNoAllocations(t *testing.T) {
	x := struck(3, 4096)
	for _, m := range every(48000) {
		if n := testing.AllocsPerRun(20, func() { m.process(x) }); n != 0 {
			t.Errorf("%s allocates %v times a block", m.name, n)
		}
	}
	lamps := meter.NewLampMap(48000, 0.15, struck(1, 10*48000))
	for _, threshold := range []float64{-1, -10, -20, -40} {
		if n := testing.AllocsPerRun(3, func() { lamps.At(threshold) }); n != 0 {
			t.Errorf("a lamp map allocates %v times a question", n)
		}
	}
}

// Blocks no caller should hand over, and rates that make no sense, hurt nobody.
func TestOddInput(t *testing.T) {
	for _, rate := range []int{-1, 0, 1, 100, 1 << 20} {
		for _, m := range []interface{ Process([]float32) }{
			meter.NewNeedle(rate), meter.NewReader(rate), meter.NewProgramme(rate),
		} {
			m.Process(nil)
			m.Process(struck(1, 1000))
		}
		meter.ReadLoop(struck(1, 1000), rate)
		lamp := meter.NewLamp(rate, math.NaN(), math.Inf(1))
		lamp.Process()
		lamp.Process(nil, nil)
		meter.NewLampMap(rate, -1, struck(1, 1000)).At(-20)
		meter.NewLampMap(rate, math.Inf(1), struck(1, 1000)).At(math.Inf(-1))
	}
	long, short := struck(1, 6000), struck(2, 5000)
	lamp := meter.NewLamp(48000, -40, 0.01)
	lamp.Process(long, short)
	want := meter.NewLamp(48000, -40, 0.01)
	want.Process(long[:5000], short)
	if lamp.Flicks() != want.Flicks() {
		t.Errorf("a lamp over channels of different length: %d flicks, want %d", lamp.Flicks(), want.Flicks())
	}
	l := newLoudness(t, 48000, 2)
	l.Process()
	l.Process(long)
	l.Process(long, short)
	meter.NewLampMap(48000, 0.15, long, short).At(-20)
}
