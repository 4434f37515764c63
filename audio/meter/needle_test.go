package meter_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio/meter"
)

var rates = []int{44100, 48000, 88200, 96000, 192000}

// course plays x to a needle frame by frame and calls f with the time and the
// needle's position.
func course(n *meter.Needle, rate int, x []float32, f func(seconds, position float64)) {
	const step = 8
	for i := 0; i+step <= len(x); i += step {
		n.Process(x[i : i+step])
		f(float64(i+step)/float64(rate), n.Position())
	}
}

func TestNeedleBallistics(t *testing.T) {
	for _, rate := range rates {
		n := meter.NewNeedle(rate)
		var rise, fall, peak, last float64
		above, swings := false, 0
		course(n, rate, tone(rate, 2, 1000, 1, 0), func(s, p float64) {
			if rise == 0 && p >= 0.99 {
				rise = s
			}
			if up := p > 1.001; up != above {
				if above = up; up {
					swings++
				}
			}
			peak, last = max(peak, p), p
		})
		course(n, rate, make([]float32, rate), func(s, p float64) {
			if fall == 0 && p <= 0.01*last {
				fall = s
			}
		})
		got := map[string]float64{
			"time from rest to 99 % of a step to 0 VU":  1000 * rise,
			"overshoot of that step":                    100 * (peak/last - 1),
			"time from 0 VU to 1 % after the tone ends": 1000 * fall,
			"swings past the settled position":          float64(swings),
		}
		for _, r := range table(t, "needle-ballistics.csv") {
			v, ok := got[r["requirement"]]
			if !ok {
				t.Fatalf("no test for %q", r["requirement"])
			}
			if v < r.num(t, "low") || v > r.num(t, "high") {
				t.Errorf("%d Hz: %s is %.2f %s, want %s to %s", rate, r["requirement"], v, r["unit"], r["low"], r["high"])
			}
			t.Logf("%d Hz: %s: %.2f %s", rate, r["requirement"], v, r["unit"])
		}
	}
}

// A needle repeats itself after a pause.
func TestNeedleRepeats(t *testing.T) {
	x := tone(48000, 1, 1000, 0.5, 20)
	n := meter.NewNeedle(48000)
	var first []float64
	course(n, 48000, x, func(_, p float64) { first = append(first, p) })
	for _, again := range []struct {
		after     string
		prepare   func()
		tolerance float64
	}{
		{"five seconds of silence", func() { n.Process(make([]float32, 5*48000)) }, 1e-6},
		{"an hour of silence", func() {
			for range 3600 {
				n.Process(make([]float32, 48000))
			}
		}, 0},
	} {
		again.prepare()
		i := 0
		course(n, 48000, x, func(_, p float64) {
			if math.Abs(p-first[i]) > again.tolerance {
				t.Fatalf("after %s the needle stands at %v instead of %v", again.after, p, first[i])
			}
			i++
		})
	}
}

// Every frequency at twelve phases or more, every rate, and block sizes 1, 64, 480, 4096.
// The needle's ripple on low tones (0.01 dB at 25 Hz) is averaged out: the reading
// is the mean position over the last 0.4 s of 1.6 s, whole periods of every tone
// below 1 kHz here.
func TestNeedleResponse(t *testing.T) {
	const seconds, last = 1.6, 0.4
	frequencies := []float64{25, 27.5, 30, 35, 50, 100, 400, 1000, 3000, 4000, 6000, 8000, 9600, 10000, 12000, 14700, 16000}
	bands := table(t, "needle-response.csv")
	for _, rate := range rates {
		t.Run(fmt.Sprint(rate), func(t *testing.T) {
			t.Parallel()
			worst := map[string]float64{}
			for _, hz := range frequencies {
				// Steps that share no period with the oversampled clock, so that the
				// zero crossings fall everywhere between its samples.
				for phase := 0.0; phase < 360; phase += 29.6 {
					x := tone(rate, seconds, hz, 0.5, phase)
					n := meter.NewNeedle(rate)
					n.Process(x[:int((seconds-last)*float64(rate))])
					var sum, count float64
					course(n, rate, x[int((seconds-last)*float64(rate)):], func(_, p float64) {
						sum += p
						count++
					})
					off := db(sum / count / 0.5)
					for _, b := range bands {
						if hz >= b.num(t, "low_hz") && hz <= b.num(t, "high_hz") {
							name := b["low_hz"] + " to " + b["high_hz"] + " Hz"
							worst[name] = max(worst[name], math.Abs(off))
							near(t, fmt.Sprintf("%g Hz at %g degrees, dB", hz, phase), off, 0, b.num(t, "tolerance_db"))
						}
					}
					if phase == 0 {
						for _, size := range []int{1, 64, 480, 4096} {
							other := meter.NewNeedle(rate)
							inBlocks(x, size, other.Process)
							if other.Level() != n.Level() || other.MaxLevel() != n.MaxLevel() {
								t.Errorf("%g Hz in blocks of %d: %v, %v; else %v, %v", hz, size,
									other.Level(), other.MaxLevel(), n.Level(), n.MaxLevel())
							}
						}
					}
				}
			}
			t.Logf("greatest error, dB: %v", worst)
		})
	}
}

func inBlocks(x []float32, size int, process func([]float32)) {
	for len(x) > 0 {
		m := min(size, len(x))
		process(x[:m])
		x = x[m:]
	}
}

func TestNeedleWaveforms(t *testing.T) {
	const rate = 48000
	rnd := rand.New(rand.NewPCG(19, 40))
	waves := map[string][]float32{"sine": tone(rate, 10, 1000, 0.5, 0)}
	square := make([]float32, 10*rate)
	for i := range square {
		square[i] = 0.5
		if i%960 >= 480 { // 50 Hz
			square[i] = -0.5
		}
	}
	waves["square"] = square
	// Gaussian noise, band-limited well inside the meter's band.
	noise := make([]float32, 120*rate)
	var a, b float64
	for i := range noise {
		a += 0.3 * (rnd.NormFloat64() - a)
		b += 0.3 * (a - b)
		noise[i] = float32(0.1 * b)
	}
	waves["gaussian noise"] = noise
	for _, r := range table(t, "needle-waveforms.csv") {
		x := waves[r["waveform"]]
		if x == nil {
			t.Fatalf("no test for %q", r["waveform"])
		}
		n := meter.NewNeedle(rate)
		n.Process(x[:2*rate])
		var sum, count, square float64
		course(n, rate, x[2*rate:], func(_, p float64) {
			sum += p
			count++
		})
		for _, v := range x[2*rate:] {
			square += float64(v) * float64(v)
		}
		// On the needle's scale a sine's RMS stands where its peak does: 3.01 dB up.
		rms := math.Sqrt(2 * square / float64(len(x)-2*rate))
		got := db(sum / count / rms)
		near(t, r["waveform"]+" above RMS, dB", got, r.num(t, "above_rms_db"), r.num(t, "tolerance_db"))
		t.Logf("%s: %.3f dB above RMS", r["waveform"], got)
	}
}

// Bursts of tone against the movement's response worked out on paper: the step
// response of p" + 2 z w p' + w^2 p = w^2 u, and the burst as a step up and a step
// down. The figures of z and w are those that meet 99 % at 300 ms and 1.25 %.
func TestNeedleBursts(t *testing.T) {
	const zeta, w = 0.8127, 13.512
	step := func(s float64) float64 {
		if s <= 0 {
			return 0
		}
		d := math.Sqrt(1 - zeta*zeta)
		return 1 - math.Exp(-zeta*w*s)*(math.Cos(d*w*s)+zeta/d*math.Sin(d*w*s))
	}
	for _, rate := range rates {
		for _, ms := range []float64{10, 20, 30, 50, 100, 150, 200, 300} {
			want := 0.0
			for s := 0.0; s < 1; s += 0.0005 {
				want = max(want, step(s)-step(s-ms/1000))
			}
			n := meter.NewNeedle(rate)
			n.Process(tone(rate, ms/1000, 1000, 0.5, 0))
			n.Process(make([]float32, rate))
			near(t, fmt.Sprintf("%d Hz: burst of %g ms, dB", rate, ms), n.MaxLevel()-db(0.5), db(want), 0.03)
		}
	}
}

// A movement of that damping would swing below zero as it falls, by 1.25 % of where it
// stood: the needle lies on its stop instead, and shows nothing.
func TestNeedleStop(t *testing.T) {
	n := meter.NewNeedle(48000)
	n.Process(tone(48000, 2, 1000, 1, 0))
	onStop := 0.0
	course(n, 48000, make([]float32, 48000), func(s, p float64) {
		if p < 0 {
			t.Fatalf("after %.3f s the needle stands at %v, below its stop", s, p)
		}
		if p == 0 && math.IsInf(n.Level(), -1) {
			onStop += 8.0 / 48000
		}
	})
	// Between its first two zeros the free movement is half a period below. What the
	// high-pass ahead of it still holds, 0.06 % of the tone, cuts that short a little.
	want := math.Pi / (13.512 * math.Sqrt(1-0.8127*0.8127))
	near(t, "time on the stop, s", onStop, want, 0.03)
}

func TestNeedleExtremes(t *testing.T) {
	n := meter.NewNeedle(48000)
	if !math.IsInf(n.Level(), -1) || n.Position() != 0 || !math.IsInf(n.MaxLevel(), -1) {
		t.Errorf("at rest: %v, %v, %v", n.Level(), n.Position(), n.MaxLevel())
	}
	x := tone(48000, 3, 1000, 0.5, 0)
	for _, broken := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		n = meter.NewNeedle(48000)
		y := append([]float32(nil), x...)
		y[48000] = float32(broken)
		n.Process(y)
		near(t, "two seconds after a broken sample, dBFS", n.Level(), db(0.5), 0.01)
		if n.MaxLevel() > db(0.52) {
			t.Errorf("a broken sample threw the needle to %v", n.MaxLevel())
		}
	}
	for _, rate := range []int{8000, 11025, 16000, 384000} {
		n := meter.NewNeedle(rate)
		n.Process(tone(rate, 2, 1000, 0.5, 30))
		near(t, fmt.Sprintf("1 kHz at a rate of %d Hz, dBFS", rate), n.Level(), db(0.5), 0.05)
	}
}

// At low rates high tones leave the rectifier fewer values to average.
func TestNeedleLowRates(t *testing.T) {
	for _, rate := range []int{8000, 11025, 16000, 22050, 32000} {
		worst := 0.0
		for _, share := range []float64{0.01, 0.1, 0.2, 0.25, 0.3, 1.0 / 3, 0.375, 0.4} {
			for phase := 0.0; phase < 360; phase += 29.6 {
				n := meter.NewNeedle(rate)
				n.Process(tone(rate, 1.5, share*float64(rate), 0.5, phase))
				worst = max(worst, math.Abs(n.Level()-db(0.5)))
			}
		}
		near(t, fmt.Sprintf("up to 0.4 of %d Hz, greatest error in dB", rate), worst, 0, 0.3)
		t.Logf("up to 0.4 of %d Hz: off by at most %.3f dB", rate, worst)
	}
}

// A constant that comes on throws the needle and then fades: what two low-passes at
// 1 Hz, one after the other, lack of it falls as (1 + w t) exp(-w t) with w = 2 pi a
// second. The movement is integrated in small steps beside it.
func TestNeedleConstant(t *testing.T) {
	const zeta, w, dt = 0.8127, 13.512, 1e-5
	want := map[int]float64{} // position after so many tenths of a second
	highest := 0.0
	for i, p, v := 0, 0.0, 0.0; i < 100000; i++ {
		tau := 2 * math.Pi * float64(i) * dt
		u := math.Pi / 2 * 0.3 * (1 + tau) * math.Exp(-tau)
		v += dt * (w*w*(u-p) - 2*zeta*w*v)
		p += dt * v
		highest = max(highest, p)
		if (i+1)%10000 == 0 {
			want[(i+1)/10000] = p
		}
	}
	for _, rate := range rates {
		n := meter.NewNeedle(rate)
		constant := make([]float32, rate/10)
		for i := range constant {
			constant[i] = -0.3
		}
		for tenths := 1; tenths <= 9; tenths++ {
			n.Process(constant)
			near(t, fmt.Sprintf("%d Hz: after %d tenths of a second, dBFS", rate, tenths), n.Level(), db(want[tenths]), 0.5)
		}
		near(t, fmt.Sprintf("%d Hz: greatest, dBFS", rate), n.MaxLevel(), db(highest), 0.05)
	}
}

// Told of the constant first, a reader reads the tone on it from the start, and
// its mean is the samples' own.
func TestReaderStartFrom(t *testing.T) {
	for _, rate := range rates {
		x := tone(rate, 3.01, 1000, 0.05, 0)
		sum := 0.0
		for i := range x {
			x[i] += 0.2
			sum += float64(x[i])
		}
		r := meter.NewReader(rate)
		r.StartFrom(0.2)
		r.Process(x)
		p := r.Passage()
		near(t, fmt.Sprintf("%d Hz: reading", rate), p.Reading, db(0.05), 0.01)
		near(t, fmt.Sprintf("%d Hz: greatest", rate), p.Max, db(0.05*1.0125), 0.02)
		near(t, fmt.Sprintf("%d Hz: constant", rate), p.Constant, sum/float64(len(x)), 1e-6)
		near(t, fmt.Sprintf("%d Hz: sample peak", rate), p.SamplePeak, db(0.25), 0.01)
		near(t, fmt.Sprintf("%d Hz: as a loop, constant", rate), meter.ReadLoop(x, rate).Constant, sum/float64(len(x)), 1e-6)
		near(t, fmt.Sprintf("%d Hz: as a loop, reading", rate), meter.ReadLoop(x, rate).Reading, db(0.05), 0.01)
	}
}
