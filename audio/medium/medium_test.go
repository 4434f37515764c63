package medium

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"
)

const second = 48000

// sine is a tone of a level in dBFS, peak.
func sine(hz, db float64, frames int) []float32 {
	x := make([]float32, frames)
	for i := range x {
		x[i] = float32(math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/second))
	}
	return x
}

// steady takes a tone through the signal path of a tape, without the hiss,
// and returns one second of it once the filters have settled.
func steady(t *Tape, x []float32) []float32 {
	for b := range slices.Chunk(x, tapeBlock) {
		t.pass(&t.sides[0], b)
	}
	return x[len(x)-second:]
}

// bins are the amplitudes of the harmonics of 1 Hz in one second.
func bins(x []float32) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = float64(v)
	}
	out := make([]float64, len(x)/2+1)
	for i, c := range fourier.NewFFT(len(x)).Coefficients(nil, y) {
		out[i] = cmplx.Abs(c) * 2 / float64(len(x))
	}
	return out
}

func db(v float64) float64 { return 20 * math.Log10(v) }

// Third-harmonic distortion of magnetic tape rises 2 dB for each dB of level
// (handbook fact) and reaches 3 % at the level that is called the tape's
// limit. Measured by FFT on a 1 kHz tone.
func TestThirdHarmonic(t *testing.T) {
	for _, reference := range []float64{-18, -20, -14} {
		for _, tt := range []struct{ vu, percent float64 }{
			{-6, 3 * math.Pow(10, -30/20.0)},
			{0, 3 * math.Pow(10, -18/20.0)},
			{3, 3 * math.Pow(10, -12/20.0)},
			{6, 3 * math.Pow(10, -6/20.0)},
			{9, 3},
		} {
			b := bins(steady(NewTape(reference, 1), sine(1000, reference+tt.vu, 2*second)))
			got := 100 * b[3000] / b[1000]
			if reference == -18 {
				t.Logf("%+3.0f VU: third harmonic %.3f %% (law: %.3f %%), second %.5f %%, fifth %.4f %%, level %+.2f dB",
					tt.vu, got, tt.percent, 100*b[2000]/b[1000], 100*b[5000]/b[1000], db(b[1000])-reference-tt.vu)
			}
			if off := db(got / tt.percent); math.Abs(off) > 0.3 {
				t.Errorf("reference %v dBFS, %+v VU: third harmonic is %.3f %%, %.2f dB off the law", reference, tt.vu, got, off)
			}
			if tt.vu == 9 && math.Abs(got-3) > 0.02 {
				t.Errorf("reference %v dBFS: third harmonic at %v VU is %.3f %%, not 3 %%", reference, TapeLimitVU, got)
			}
			if b[2000]/b[1000] > 1e-6 {
				t.Errorf("%+v VU: a second harmonic of %.6f %%: the curve is not odd", tt.vu, 100*b[2000]/b[1000])
			}
		}
	}
}

// Whatever is not the tone or a harmonic below 20 kHz is an alias.
func TestNoAliases(t *testing.T) {
	for _, tt := range []struct {
		hz int
		vu float64
	}{{10000, 6}, {9700, 6}, {7300, 6}, {11900, 6}, {997, 18}} {
		b := bins(steady(NewTape(-18, 1), sine(float64(tt.hz), -18+tt.vu, 2*second)))
		worst, at := 0.0, 0
		for hz, v := range b {
			if hz%tt.hz != 0 && v > worst {
				worst, at = v, hz
			}
		}
		t.Logf("%d Hz at %+.0f VU: highest alias %.1f dBFS at %d Hz", tt.hz, tt.vu, db(worst), at)
		if db(worst) > -80 {
			t.Errorf("%d Hz at %+v VU: an alias of %.1f dBFS at %d Hz", tt.hz, tt.vu, db(worst), at)
		}
	}
}

// Well below its limit tape is transparent.
func TestTapeResponse(t *testing.T) {
	for _, hz := range []float64{20, 40, 100, 1000, 5000, 10000, 15000, 20000} {
		b := bins(steady(NewTape(-18, 1), sine(hz, -58, 2*second)))
		if got := db(b[int(hz)]) + 58; math.Abs(got) > 0.05 {
			t.Errorf("%v Hz passes at %+.3f dB", hz, got)
		}
	}
}

// Loud high frequencies are compressed, and more than the middle.
func TestHighFrequenciesCompress(t *testing.T) {
	last := 0.0
	for _, vu := range []float64{-20, -10, 0, 3, 6, 9} {
		loss := func(hz float64) float64 {
			b := bins(steady(NewTape(-18, 1), sine(hz, -18+vu, 2*second)))
			return -18 + vu - db(b[int(hz)])
		}
		mid, high := loss(1000), loss(10000)
		t.Logf("%+3.0f VU: 1 kHz loses %.2f dB, 10 kHz %.2f dB", vu, mid, high)
		if high < last-0.001 || high < mid-0.01 {
			t.Errorf("%+v VU: 10 kHz loses %.2f dB, 1 kHz %.2f dB, and less before (%.2f dB)", vu, high, mid, last)
		}
		last = high
	}
	if last < 2 || last > 6 {
		t.Errorf("at +9 VU 10 kHz loses %.2f dB: not gentle, or nothing", last)
	}
}

// The delay is the documented one, within half a frame up to 5 kHz.
func TestTapeLatency(t *testing.T) {
	for _, hz := range []float64{100, 1000, 5000} {
		x := sine(hz, -40, 2*second)
		y := steady(NewTape(-18, 1), slices.Clone(x))
		var re, im float64
		for i, v := range y {
			s, c := math.Sincos(2 * math.Pi * hz * float64(i) / second)
			re += float64(v) * s
			im += float64(v) * c
		}
		delay := -math.Atan2(im, re) / (2 * math.Pi * hz) * second
		t.Logf("%v Hz is delayed by %.2f frames", hz, delay)
		if math.Abs(delay-float64(NewTape(-18, 1).Latency())) > 0.5 {
			t.Errorf("%v Hz is delayed by %.2f frames", hz, delay)
		}
	}
}

// weighting is the A-weighting in dB as IEC 61672-1 defines it (annex E),
// from its own design goals: -3 dB points 10^1.5 and 10^3.9 Hz of the C
// weighting, 10^2.45 Hz for the A weighting, 0 dB at 1 kHz.
func weighting(f float64) float64 {
	const fr = 1000.0
	fl, fh, fa := math.Pow(10, 1.5), math.Pow(10, 3.9), math.Pow(10, 2.45)
	d := math.Sqrt(0.5)
	c := fl * fl * fh * fh
	b := (fr*fr + c/(fr*fr) - d*(fl*fl+fh*fh)) / (1 - d)
	f1 := math.Sqrt((-b - math.Sqrt(b*b-4*c)) / 2)
	f4 := math.Sqrt((-b + math.Sqrt(b*b-4*c)) / 2)
	f2, f3 := (3-math.Sqrt(5))/2*fa, (3+math.Sqrt(5))/2*fa
	raw := func(f float64) float64 {
		return db(f4 * f4 * f * f * f * f /
			((f*f + f1*f1) * math.Sqrt(f*f+f2*f2) * math.Sqrt(f*f+f3*f3) * (f*f + f4*f4)))
	}
	return raw(f) - raw(fr)
}

// IEC 61672-1, table 3, A weighting at the exact frequencies of the nominal
// ones named.
func TestAWeighting(t *testing.T) {
	for _, tt := range []struct{ nominal, exponent, want float64 }{
		{31.5, 1.5, -39.4}, {63, 1.8, -26.2}, {125, 2.1, -16.1}, {250, 2.4, -8.6}, {500, 2.7, -3.2},
		{1000, 3, 0}, {2000, 3.3, 1.2}, {4000, 3.6, 1.0}, {8000, 3.9, -1.1}, {16000, 4.2, -6.6},
	} {
		f := math.Pow(10, tt.exponent)
		if got := weighting(f); math.Abs(got-tt.want) > 0.0501 {
			t.Errorf("%v Hz weighs %.2f dB, the table says %.1f", tt.nominal, got, tt.want)
		}
		if got := 10 * math.Log10(aWeight(f)); math.Abs(got-weighting(f)) > 0.01 {
			t.Errorf("%v Hz weighs %.3f dB here and %.3f by the standard's formula", tt.nominal, got, weighting(f))
		}
	}
}

// noise is the A-weighted and the plain level of what a medium gives for
// silence, in dB re a full-scale sine, measured by FFT over eight seconds.
func noise(m Medium) (weighted, plain float64) {
	var w, p float64
	const seconds = 8
	l, r := make([]float32, second), make([]float32, second)
	m.Process(l, r)
	for range seconds {
		clear(l)
		clear(r)
		m.Process(l, r)
		for hz, v := range bins(l) {
			if hz > 0 {
				w += v * v * math.Pow(10, weighting(float64(hz))/10)
				p += v * v
			}
		}
	}
	return 10 * math.Log10(w/seconds), 10 * math.Log10(p/seconds)
}

func TestHiss(t *testing.T) {
	for _, reference := range []float64{-18, -14} {
		weighted, plain := noise(NewTape(reference, 5))
		t.Logf("reference %v dBFS: hiss %.2f dB(A), %.2f dB unweighted, re full scale", reference, weighted, plain)
		if want := reference + TapeHissVU; math.Abs(weighted-want) > 0.1 {
			t.Errorf("hiss is %.2f dB(A), not %.2f", weighted, want)
		}
	}
	// Its spectrum rises with the frequency.
	tape := NewTape(-18, 5)
	x, y := make([]float32, second), make([]float32, second)
	tape.Process(x, y)
	band := func(lo, hi int) (sum float64) {
		for _, v := range bins(x)[lo:hi] {
			sum += v * v
		}
		return 10 * math.Log10(sum/float64(hi-lo))
	}
	low, mid, high := band(50, 500), band(1500, 2500), band(6000, 9000)
	if mid < low+3 || high < mid+3 {
		t.Errorf("hiss density at low, middle and high frequencies is %.1f, %.1f, %.1f dB: it should rise", low, mid, high)
	}
	// The two channels hiss on their own.
	var xy, xx, yy float64
	for i := range x {
		xy += float64(x[i]) * float64(y[i])
		xx += float64(x[i]) * float64(x[i])
		yy += float64(y[i]) * float64(y[i])
	}
	if c := xy / math.Sqrt(xx*yy); math.Abs(c) > 0.02 {
		t.Errorf("the channels' hiss correlates by %.3f", c)
	}
}

// Dithered quantisation: error of half a step RMS, -141.5 dBFS at 24 bits
// (Lipshitz, Wannamaker and Vanderkooy 1992), whatever the signal.
func TestDigitalNoise(t *testing.T) {
	const want = -141.5
	_, got := noise(NewDigital(3))
	if math.Abs(got-want) > 0.1 {
		t.Errorf("the noise of silence is %.2f dBFS, not %.1f", got, want)
	}
	for _, level := range []float64{-100, -60, -1} {
		x := sine(997, level, second)
		y := slices.Clone(x)
		NewDigital(3).Process(y, slices.Clone(x))
		sum := 0.0
		for i := range x {
			e := float64(y[i]) - float64(x[i])
			sum += e * e
		}
		// The samples themselves have the steps of a float32: at -1 dBFS
		// as coarse as those of 24 bits.
		slack := 0.1
		if level > -20 {
			slack = 0.5
		}
		if got := db(math.Sqrt(2 * sum / second)); math.Abs(got-want) > slack {
			t.Errorf("the noise on a tone of %v dBFS is %.2f dBFS, not %.1f", level, got, want)
		}
	}
}

// Full scale is the end, and every sample is a code.
func TestDigitalCeiling(t *testing.T) {
	step := math.Pow(2, 1-24.0)
	for _, in := range []float32{0.5, 1, 1.01, 7, -1, -1.01, -1000, float32(math.Inf(1)), float32(math.Inf(-1))} {
		x, y := []float32{in}, []float32{in}
		NewDigital(1).Process(x, y)
		if v := float64(x[0]); v > 1-step || v < -1 || math.Mod(v, step) != 0 {
			t.Errorf("%v is recorded as %v", in, v)
		}
	}
}

// Any division into blocks gives the same take; another seed, another noise.
func TestBlocks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]Kind{KindDigital, KindTape}).Draw(t, "kind")
		cuts := rapid.SliceOfN(rapid.IntRange(0, 200), 1, 10).Draw(t, "blocks")
		total := 0
		for _, n := range cuts {
			total += n
		}
		whole, _ := New(kind, -18, 9)
		parts, _ := New(kind, -18, 9)
		l, r := sine(440, -3, total), sine(3000, 3, total)
		x, y := slices.Clone(l), slices.Clone(r)
		whole.Process(l, r)
		at := 0
		for _, n := range cuts {
			parts.Process(x[at:at+n], y[at:at+n])
			at += n
		}
		if !slices.Equal(l, x) || !slices.Equal(r, y) {
			t.Fatalf("%s: blocks of %v give another take than one block", kind, cuts)
		}
	})
	a, b := make([]float32, 100), make([]float32, 100)
	for seed, x := range [][]float32{a, b} {
		NewTape(-18, uint64(seed)).Process(x, make([]float32, 100))
	}
	if slices.Equal(a, b) {
		t.Error("two seeds give the same hiss")
	}
}

// After samples that are no numbers, or far beyond full scale, a medium goes
// on as ever.
func TestNonsensePasses(t *testing.T) {
	for _, k := range []Kind{KindDigital, KindTape} {
		m, _ := New(k, -18, 1)
		inf, nan := float32(math.Inf(1)), float32(math.NaN())
		x := []float32{inf, -inf, nan, math.MaxFloat32, -math.MaxFloat32, 0}
		m.Process(x, slices.Clone(x))
		l := sine(1000, -18, second)
		m.Process(l, slices.Clone(l))
		if got := db(bins(l)[1000]); math.Abs(got+18) > 0.2 {
			t.Errorf("%s: afterwards a tone of -18 dBFS is recorded at %.2f", k, got)
		}
	}
}

func TestNewUnknown(t *testing.T) {
	if _, err := New("wax", -18, 1); err == nil {
		t.Error("a medium of wax was made")
	}
	if m, err := New("", -18, 1); err != nil || m.Latency() != 0 {
		t.Errorf("the empty kind gives %v, %v: it should be digital", m, err)
	}
}

// Both sides of a recording have a noise of their own, of one level.
func TestNoiseOnBothSides(t *testing.T) {
	for _, m := range []Medium{NewTape(-18, 9), NewDigital(9)} {
		l, r := make([]float32, second), make([]float32, second)
		m.Process(l, r)
		var left, right, both float64
		for i := range l {
			left += float64(l[i]) * float64(l[i])
			right += float64(r[i]) * float64(r[i])
			both += float64(l[i]) * float64(r[i])
		}
		if db := 10 * math.Log10(right/left); math.Abs(db) > 0.3 {
			t.Errorf("%T: the right side's noise is %.2f dB above the left's", m, db)
		}
		if alike := both / math.Sqrt(left*right); math.Abs(alike) > 0.05 {
			t.Errorf("%T: the two noises correlate by %.3f", m, alike)
		}
	}
}

// Both sides of a tape saturate alike and know nothing of each other: a tone at
// the tape's limit has its third harmonic of 3 % on either side, and none of it
// is on the other.
func TestTapeSides(t *testing.T) {
	l, r := sine(1000, -18+TapeLimitVU, 2*second), sine(1500, -18+TapeLimitVU, 2*second)
	NewTape(-18, 1).Process(l, r)
	left, right := bins(l[second:]), bins(r[second:])
	for _, side := range []struct {
		name        string
		own, across []float64
		hz          int
	}{{"left", left, right, 1000}, {"right", right, left, 1500}} {
		if got := 100 * side.own[3*side.hz] / side.own[side.hz]; math.Abs(got-3) > 0.3 {
			t.Errorf("%s side: third harmonic %.3f %%, not 3 %%", side.name, got)
		}
		if got := db(side.across[side.hz] / side.own[side.hz]); got > -80 {
			t.Errorf("%s side: %.1f dB of it is on the other", side.name, got)
		}
	}
}

// What is beyond all bounds is as loud as the bound, on its own side of zero.
func TestBeyondAllBounds(t *testing.T) {
	for _, sign := range []float32{1, -1} {
		end := func(v float32) float32 {
			x := make([]float32, 100)
			for i := range x {
				x[i] = v
			}
			NewTape(-18, 1).Process(x, make([]float32, 100))
			return x[50]
		}
		got, want := end(sign*1e6), end(sign*1000)
		if got != want || got*sign < 0.3 {
			t.Errorf("a level of %v records as %v, 1000 as %v", sign*1e6, got, want)
		}
	}
}
