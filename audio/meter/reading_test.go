package meter_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio/meter"
)

const rate = 48000

// swings makes a passage of tone bursts half a second long, a second apart: each is
// one swing of the needle, its top 0.1 dB above the burst's level in dBFS.
func swings(levels ...float64) []float32 {
	var x []float32
	for _, l := range levels {
		x = append(x, tone(rate, 0.5, 1000, amplitude(l), 0)...)
		x = append(x, make([]float32, rate/2)...)
	}
	return x
}

func TestReading(t *testing.T) {
	top := db(1.0125) // the overshoot
	eight := func(first ...float64) []float64 {
		for len(first) < 8 {
			first = append(first, -20)
		}
		return first
	}
	for _, c := range []struct {
		what   string
		levels []float64
		want   float64 // level of the burst the reading comes from
	}{
		{"one swing is read", []float64{-10}, -10},
		{"three swings are too few to leave one out", []float64{-20, -10, -20}, -10},
		{"one unusual swing in four is left out", []float64{-20, -10, -20, -20}, -20},
		{"two in four are not", []float64{-10, -10, -20, -20}, -10},
		{"one unusual in eight", eight(-10), -20},
		{"two unusual in eight", eight(-10, -10), -20},
		{"two unusual of different height", eight(-8, -12), -20},
		{"three are no exception", eight(-10, -10, -10), -10},
		{"a swing higher by less than 1 dB is not unusual", eight(-19.1), -19.1},
		{"the one that stands out of two high ones", eight(-8, -10, -10.5), -10},
		{"two a little apart from the third, less than 1 dB", eight(-8, -19.2), -19.2},
		{"swings below the scale do not count", []float64{-10, -31, -31, -31, -31, -31}, -10},
	} {
		for _, gain := range []float64{0, -7.3, 5.5} {
			x := swings(c.levels...)
			for i := range x {
				x[i] *= float32(amplitude(gain))
			}
			r := meter.NewReader(rate)
			r.Process(x)
			got := r.Passage()
			near(t, fmt.Sprintf("%s, at %g dB: reading", c.what, gain), got.Reading, c.want+top+gain, 0.01)
			near(t, c.what+" as a loop", meter.ReadLoop(x, rate).Reading, c.want+top+gain, 0.01)
		}
	}
}

// A tone held is one swing, read without the overshoot at its start.
func TestReadingSteady(t *testing.T) {
	x := tone(rate, 4, 1000, 0.5, 0)
	r := meter.NewReader(rate)
	r.Process(x)
	near(t, "from rest", r.Passage().Reading, db(0.5), 0.005)
	near(t, "its greatest from rest, with the overshoot", r.Passage().Max, db(0.5*1.0125), 0.005)
	p := meter.ReadLoop(x, rate)
	near(t, "as a loop", p.Reading, db(0.5), 0.005)
	near(t, "its greatest", p.Max, db(0.5), 0.005)
	near(t, "under-read", p.UnderRead(), 0, 0.005)
}

// struck makes a loop of decaying strokes at irregular times and levels.
func struck(seed uint64, frames int) []float32 {
	rnd := rand.New(rand.NewPCG(seed, 5))
	x := make([]float32, frames)
	for range 20 {
		at, level := rnd.IntN(frames), math.Pow(10, -rnd.Float64())
		fall := 0.9990 + 0.0009*rnd.Float64()
		for i := 0; i < frames && level > 1e-4; i++ {
			x[(at+i)%frames] += float32(level * (2*rnd.Float64() - 1))
			level *= fall
		}
	}
	return x
}

// A loop reads as a needle shows it once it has gone round, wherever it begins.
func TestLoop(t *testing.T) {
	for seed := range uint64(6) {
		for _, frames := range []int{12*rate + 13, 5 * rate, 2*rate + 31} {
			x := struck(seed, frames)
			want := meter.ReadLoop(x, rate)
			n := meter.NewNeedle(rate)
			n.Process(x)
			n.Process(x)
			var top float64
			course(n, rate, x, func(_, p float64) { top = max(top, p) })
			near(t, "greatest deflection, round and round", want.Max, db(top), 0.002)
			for _, start := range []int{1, 777, frames / 3, frames - 5} {
				y := append(append([]float32(nil), x[start:]...), x[:start]...)
				got := meter.ReadLoop(y, rate)
				what := fmt.Sprintf("seed %d, %d frames, begun at %d: ", seed, frames, start)
				near(t, what+"reading", got.Reading, want.Reading, 0.002)
				near(t, what+"greatest", got.Max, want.Max, 0.002)
				near(t, what+"sample peak", got.SamplePeak, want.SamplePeak, 0)
				near(t, what+"true peak", got.TruePeak, want.TruePeak, 0.01)
			}
			const gain = -11.7
			for i := range x {
				x[i] *= float32(amplitude(gain))
			}
			got := meter.ReadLoop(x, rate)
			near(t, "reading at another gain", got.Reading, want.Reading+gain, 1e-4)
			near(t, "true peak at another gain", got.TruePeak, want.TruePeak+gain, 1e-4)
		}
	}
}

func TestLoopShort(t *testing.T) {
	for _, frames := range []int{1, 5, 31, 32, 33, 48, 100} {
		x := make([]float32, frames)
		for i := range x {
			x[i] = 0.5
		}
		// A constant drives no needle: what is left is the interpolator's ripple.
		if p := meter.ReadLoop(x, rate); p.Reading > -60 || p.Constant != 0.5 {
			t.Errorf("%d frames of a constant of 0.5: reads %.1f dBFS, constant %v", frames, p.Reading, p.Constant)
		}
	}
	// Loops shorter than the movement takes to settle stand still at the tone's level.
	for _, frames := range []int{48, 96, 480, 1920, 4800} {
		for _, rate := range []int{48000, 96000} {
			x := tone(rate, float64(frames)/48000, 1000, 0.5, 33)
			p := meter.ReadLoop(x, rate)
			near(t, fmt.Sprintf("%d frames of a tone at %d Hz: reading", len(x), rate), p.Reading, db(0.5), 0.01)
			near(t, fmt.Sprintf("%d frames of a tone at %d Hz: greatest", len(x), rate), p.Max, db(0.5), 0.01)
		}
	}
	for _, x := range [][]float32{nil, make([]float32, 1000)} {
		p := meter.ReadLoop(x, rate)
		if !math.IsInf(p.Reading, -1) || !math.IsInf(p.TruePeak, -1) || !math.IsNaN(p.UnderRead()) {
			t.Errorf("silence of %d frames: %+v", len(x), p)
		}
	}
}

// The mean of a loop's samples is that of the samples alone, however short the loop.
func TestConstantOfShortLoops(t *testing.T) {
	for _, x := range [][]float32{{0.25}, {0.5, 0}, {0.25, -0.125, 0.625, 0.25}} {
		near(t, fmt.Sprintf("mean of %v", x), meter.ReadLoop(x, rate).Constant, 0.25, 1e-9)
	}
}
