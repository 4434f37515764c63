package meter_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio/meter"
)

// faded fades a tone in and out over 10 ms.
func faded(rate int, x []float32) []float32 {
	n := rate / 100
	for i := range n {
		g := float32(0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(n)))
		x[i] *= g
		x[len(x)-1-i] *= g
	}
	return x
}

// shortPeak makes the signal of cases 20 to 23.
func shortPeak(rate int, divider, level float64, offset int) []float32 {
	fast := 4 * rate
	x := tone(fast, 0.1-math.Mod(0.1*float64(rate), divider)/float64(rate), float64(rate)/divider, level, 0)
	x = x[:len(x)/(4*int(divider))*4*int(divider)] // whole periods
	whole := append(append(append([]float32(nil), x...), tone(fast, 4/float64(rate), float64(rate)/4, 1, 0)...), x...)
	whole = faded(fast, whole)
	// Low-pass at half of fs: a windowed sinc.
	const reach = 160
	var taps [2*reach + 1]float64
	for i := range taps {
		k := float64(i - reach)
		taps[i] = 0.25 * (0.5 + 0.5*math.Cos(math.Pi*k/(reach+1)))
		if k != 0 {
			taps[i] *= math.Sin(math.Pi*k/4) / (math.Pi * k / 4)
		}
	}
	y := make([]float32, 0, len(whole)/4)
	for at := offset; at < len(whole); at += 4 {
		sum := 0.0
		for k := -reach; k <= reach; k++ {
			if i := at + k; i >= 0 && i < len(whole) {
				sum += taps[k+reach] * float64(whole[i])
			}
		}
		y = append(y, float32(sum))
	}
	return y
}

// truePeak is the true peak of a passage in dBTP.
func truePeak(rate int, x []float32) float64 {
	r := meter.NewReader(rate)
	r.Process(x)
	return r.Passage().TruePeak
}

func TestTruePeakEBU3341(t *testing.T) {
	for _, r := range table(t, "true-peak-ebu3341.csv") {
		for _, rate := range rates {
			var x []float32
			if r["offset"] == "" {
				hz := float64(rate) / r.num(t, "divider")
				x = faded(rate, tone(rate, 0.2, hz, r.num(t, "amplitude"), r.num(t, "phase_deg")))
			} else {
				x = shortPeak(rate, r.num(t, "divider"), r.num(t, "amplitude"), int(r.num(t, "offset")))
			}
			got := truePeak(rate, x)
			off := got - r.num(t, "expected_dbtp")
			if off > r.num(t, "above_db") || off < -r.num(t, "below_db") {
				t.Errorf("case %s at %d Hz: %.3f dBTP, want %s +%s/-%s", r["case"], rate, got,
					r["expected_dbtp"], r["above_db"], r["below_db"])
			}
			t.Logf("case %s at %d Hz: %+.3f dB", r["case"], rate, off)
		}
	}
}

// Tones at every phase: never read by more than 0.1 dB too little, up to 20 kHz.
func TestTruePeakTones(t *testing.T) {
	low, high := 0.0, 0.0
	for _, rate := range []int{48000, 96000} {
		for _, hz := range []float64{100, 997, 5000, 8000, 9600, 12000, 14700, 16000, 18000, 19200, 20000} {
			for phase := 0.0; phase < 360; phase += 7.3 {
				x := faded(rate, tone(rate, 0.05, hz, 0.5, phase))
				off := truePeak(rate, x) - db(0.5)
				low, high = min(low, off), max(high, off)
				if off > 0.1 || off < -0.1 {
					t.Errorf("%g Hz at %g degrees, %d Hz: off by %.3f dB", hz, phase, rate, off)
				}
			}
		}
	}
	t.Logf("errors from %+.3f to %+.3f dB", low, high)
}

// Wherever a passage stops, the true peak is not below the sample peak.
func TestTruePeakAgainstSamples(t *testing.T) {
	for seed := range uint64(40) {
		rnd := rand.New(rand.NewPCG(seed, 6))
		for _, rate := range rates {
			x := struck(seed, 6000)
			for i := range x { // quiet stretches and sudden single samples
				if i/500%3 == 1 {
					x[i] *= 0.01
				}
				if rnd.IntN(400) == 0 {
					x[i] = float32(1.5 * rnd.NormFloat64())
				}
			}
			reader := meter.NewReader(rate)
			for i := 0; i < len(x); i += 300 {
				reader.Process(x[i : i+300])
				p := reader.Passage()
				if p.TruePeak < p.SamplePeak {
					t.Fatalf("seed %d, %d Hz, frame %d: %v dBTP, %v dBFS", seed, rate, i, p.TruePeak, p.SamplePeak)
				}
			}
		}
	}
}

func TestSamplePeak(t *testing.T) {
	m := new(meter.SamplePeak)
	if !math.IsInf(m.Level(), -1) {
		t.Errorf("before any sound: %v", m.Level())
	}
	m.Process([]float32{0, 0.25, -0.5, 0.1})
	near(t, "dBFS", m.Level(), -6.0206, 1e-4)
	m.Process([]float32{float32(math.NaN()), float32(math.Inf(-1)), 0.75, float32(math.Inf(1))})
	near(t, "dBFS beside broken samples", m.Level(), db(0.75), 1e-6)
	var zero meter.SamplePeak
	zero.Process([]float32{-1})
	near(t, "zero value, dBFS", zero.Level(), 0, 0)
}

func TestRMS(t *testing.T) {
	m := meter.RMS{Clip: 0.5}
	if !math.IsInf(m.Level(), -1) {
		t.Errorf("before any sound: %v", m.Level())
	}
	m.Process(tone(rate, 1, 997, 1, 0))
	near(t, "full-scale sine, dB", m.Level(), -3.0103, 0.001)
	m = meter.RMS{Clip: 0.5}
	m.Process([]float32{0.5, -0.5, 0.5, 0.49})
	m.Process([]float32{-0.6})
	if m.Clipped() != 4 {
		t.Errorf("%d samples clipped, want 4", m.Clipped())
	}
	near(t, "five samples, dB", m.Level(), 10*math.Log10((3*0.25+0.49*0.49+0.36)/5), 1e-5)
}

func TestProgramme(t *testing.T) {
	for _, rate := range rates {
		burst := func(ms float64) float64 {
			p, top := meter.NewProgramme(rate), math.Inf(-1)
			x := append(tone(rate, ms/1000, 5000, 0.5, 0), make([]float32, rate/10)...)
			inBlocks(x, 8, func(b []float32) {
				p.Process(b)
				top = max(top, p.Level())
			})
			return top - db(0.5)
		}
		near(t, fmt.Sprintf("%d Hz: steady tone, dB", rate), burst(3000), 0, 0.05)
		for _, r := range table(t, "programme-iia.csv") {
			got := burst(r.num(t, "burst_ms"))
			near(t, fmt.Sprintf("%d Hz: burst of %s ms, dB", rate, r["burst_ms"]), got, r.num(t, "level_db"), r.num(t, "tolerance_db"))
			t.Logf("%d Hz: burst of %s ms: %.2f dB", rate, r["burst_ms"], got)
		}
		for _, r := range table(t, "programme-return.csv") {
			p := meter.NewProgramme(rate)
			p.Process(tone(rate, 2, 1000, 0.5, 0))
			top, seconds := p.Level(), 0.0
			for p.Level() > top-r.num(t, "fall_db") && seconds < 10 {
				p.Process(make([]float32, rate/100))
				seconds += 0.01
			}
			near(t, fmt.Sprintf("%d Hz: fall by %s dB, s", rate, r["fall_db"]), seconds, r.num(t, "seconds"), r.num(t, "tolerance_s"))
			near(t, fmt.Sprintf("%d Hz: fall by %s dB in the middle of what is allowed, s", rate, r["fall_db"]), seconds, r.num(t, "seconds"), 0.02)
		}
		for _, hz := range []float64{31.5, 100, 1000, 5000, 10000, 16000} {
			p := meter.NewProgramme(rate)
			p.Process(tone(rate, 2, hz, 0.5, 17))
			near(t, fmt.Sprintf("%d Hz: %g Hz tone, dB", rate, hz), p.Level()-db(0.5), 0, 0.3)
		}
	}
}

// EBU R 68 line-up tone on every meter, and line level.
func TestLineUp(t *testing.T) {
	const reference = -18.0
	x := tone(rate, 10, 1000, amplitude(reference), 0)
	sp, p, l := new(meter.SamplePeak), meter.NewProgramme(rate), newLoudness(t, rate, 2)
	sp.Process(x)
	p.Process(x)
	l.Process(x, x)
	got := map[string]float64{
		"needle on R 68 tone with 0 VU at -18 dBFS (VU)": meter.ReadLoop(x, rate).Reading - reference,
		"sample peak (dBFS)":                             sp.Level(),
		"true peak (dBTP)":                               truePeak(rate, faded(rate, append([]float32(nil), x...))),
		"loudness (LUFS)":                                l.Integrated(),
		"programme meter (dBFS)":                         p.Level(),
		"0 VU at line level (V)":                         meter.LineVolts(0),
		"-4 VU at line level (V)":                        meter.LineVolts(-4),
		"0 VU on a programme meter (mark)":               meter.ProgrammeMark(0),
		"-4 VU on a programme meter (mark)":              meter.ProgrammeMark(-4),
		"+4 VU on a programme meter (mark)":              meter.ProgrammeMark(4),
		"-18 VU on a programme meter (mark)":             meter.ProgrammeMark(-18),
	}
	for _, r := range table(t, "line-up.csv") {
		v, ok := got[r["what"]]
		if !ok {
			t.Fatalf("no test for %q", r["what"])
		}
		near(t, r["what"], v, r.num(t, "expected"), r.num(t, "tolerance"))
	}
}
