package medium

import (
	"math"
	"testing"
	"time"
)

// Tones have figures that a handbook gives: the tape's own, and those of a
// clipped sine.
func TestDamageOfTones(t *testing.T) {
	// A sine of amplitude a clipped at 1: its fundamental is
	// a (2/pi) (asin(1/a) + sqrt(1-1/a²)/a), its power follows from integrating
	// the clipped wave; what is left beside the fundamental is distortion.
	fundamental := func(over float64) float64 {
		a := math.Pow(10, over/20)
		return a * 2 / math.Pi * (math.Asin(1/a) + math.Sqrt(1-1/(a*a))/a)
	}
	clipped := func(over float64) float64 {
		a := math.Pow(10, over/20)
		phi := math.Asin(1 / a)
		fundamental := fundamental(over)
		power := 2 / math.Pi * (a*a*(phi/2-math.Sin(2*phi)/4) + math.Pi/2 - phi)
		return 100 * math.Sqrt(power-fundamental*fundamental/2) / (fundamental / math.Sqrt2)
	}
	db := func(a float64) float64 { return 20 * math.Log10(a) }
	// What a cubic curve gives to the third harmonic it takes three times from the
	// fundamental: cos³ = (3 cos + cos 3)/4.
	squeezed := func(percent float64) float64 { return db(1 - 3*percent/100) }
	// What white noise from 0 to 24 kHz loses to the A-weighting.
	white := 0.0
	for hz := 1.0; hz < second/2; hz++ {
		white += math.Pow(10, weighting(hz)/10) / (second / 2)
	}
	floor := 141.5 - 10*math.Log10(white)
	for _, tt := range []struct {
		name            string
		kind            Kind
		dbfs            float64
		snr, distortion float64
	}{
		{"tape at 0 VU", KindTape, -18, 60, 3 * math.Pow(10, -18/20.0)},
		{"tape 12 dB too low", KindTape, -30, 48, 3 * math.Pow(10, -42/20.0)},
		{"tape at the lamp", KindTape, -12, 66 + squeezed(1.5), 3 * math.Pow(10, -6/20.0)},
		{"tape at its limit", KindTape, -9, 69 + squeezed(3), 3},
		{"digital at -18 dBFS", KindDigital, -18, -18 + floor, 0},
		{"digital just below", KindDigital, -0.1, -0.1 + floor, 0},
		{"digital 3 dB over", KindDigital, 3, db(fundamental(3)) + floor, clipped(3)},
		{"digital 6 dB over", KindDigital, 6, db(fundamental(6)) + floor, clipped(6)},
	} {
		loop := sine(1000, 0, second)
		snr, distortion, err := Damage(tt.kind, -18, [][]float32{loop, loop}, tt.dbfs, nil)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.1f dB, %.3f %%", tt.name, snr, distortion)
		if math.Abs(snr-tt.snr) > 0.2 {
			t.Errorf("%s: the signal-to-noise ratio is %.2f dB, not %.1f", tt.name, snr, tt.snr)
		}
		if math.Abs(distortion-tt.distortion) > 0.002+0.04*tt.distortion {
			t.Errorf("%s: the distortion is %.4f %%, not %.4f", tt.name, distortion, tt.distortion)
		}
	}
}

// The noise figure agrees with noise that was recorded and weighted by FFT.
func TestDamageAgreesWithNoise(t *testing.T) {
	for _, k := range []Kind{KindTape, KindDigital} {
		m, _ := New(k, -18, 4)
		weighted, _ := noise(m)
		snr, _, err := Damage(k, -18, [][]float32{sine(1000, 0, second)}, -20, nil)
		if err != nil {
			t.Fatal(err)
		}
		if want := -20 - weighted; math.Abs(snr-want) > 0.1 {
			t.Errorf("%s: the ratio is %.2f dB; the noise measures %.2f dB(A), which makes %.2f", k, snr, weighted, want)
		}
	}
}

// A loop shorter than what the filters need to settle, and than a block, is damaged as
// the same tone in a long one.
func TestDamageOfShortLoops(t *testing.T) {
	long := sine(1000, 0, second)
	snr, distortion, err := Damage(KindTape, -18, [][]float32{long}, -9, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, frames := range []int{48, 96, 144, 240, 480} {
		gotSNR, got, err := Damage(KindTape, -18, [][]float32{long[:frames]}, -9, nil)
		if err != nil || math.Abs(gotSNR-snr) > 0.001 || math.Abs(got-distortion) > 0.001 {
			t.Errorf("%d frames: %.4f dB, %.4f %%, %v; of a second %.4f dB, %.4f %%", frames, gotSNR, got, err, snr, distortion)
		}
	}
}

// The highest gain taken is 120 dB.
func TestDamageGain(t *testing.T) {
	loop := [][]float32{sine(1000, 0, 480)}
	if _, _, err := Damage(KindDigital, -18, loop, 120, nil); err != nil {
		t.Error(err)
	}
	if _, _, err := Damage(KindDigital, -18, loop, 120.001, nil); err == nil {
		t.Error("a gain of 120.001 dB is taken")
	}
}

func TestDamageOfNonsense(t *testing.T) {
	for _, tt := range []struct {
		name string
		kind Kind
		loop [][]float32
		gain float64
	}{
		{"no channels", KindTape, nil, 0},
		{"no samples", KindTape, [][]float32{{}}, 0},
		{"unequal", KindTape, [][]float32{{1}, {1, 2}}, 0},
		{"three", KindTape, [][]float32{{1}, {1}, {1}}, 0},
		{"gain", KindTape, [][]float32{{1}}, math.NaN()},
		{"kind", "wax", [][]float32{{1}}, 0},
	} {
		if _, _, err := Damage(tt.kind, -18, tt.loop, tt.gain, nil); err == nil {
			t.Errorf("%s: no error", tt.name)
		}
	}
	for _, k := range []Kind{KindDigital, KindTape} {
		snr, distortion, err := Damage(k, -18, [][]float32{make([]float32, 100)}, 0, nil)
		if err != nil || !math.IsInf(snr, -1) || distortion != 0 {
			t.Errorf("%s: silence gives %v dB, %v %%, %v", k, snr, distortion, err)
		}
	}
}

func BenchmarkDamage(b *testing.B) {
	l, r := sine(1000, -12, 16*second), sine(300, -6, 16*second)
	for b.Loop() {
		Damage(KindTape, -18, [][]float32{l, r}, 0, nil)
	}
	b.ReportMetric(float64(b.Elapsed()/time.Duration(b.N))/1e6, "ms")
}

// Worked out by hand: of the samples 2, -2, 0.5 and -0.5 the ceiling keeps 1, -1, 0.5 and
// -0.5. The best fit leaves 2.5 - 4.5²/8.5 = 1/8.5 of the squares, against the fit's own
// 4.5²/8.5: a ratio of 1/4.5 of the amplitudes. 6 dB lower nothing is cut off.
func TestDamageByHand(t *testing.T) {
	loop := [][]float32{{2, -2, 0.5, -0.5}}
	for _, c := range []struct{ gain, percent float64 }{{0, 100 / 4.5}, {-6.0206, 0}} {
		_, got, err := Damage(KindDigital, -18, loop, c.gain, nil)
		if err != nil || math.Abs(got-c.percent) > 0.01 {
			t.Errorf("at %v dB: %.4f %%, %v; want %.4f %%", c.gain, got, err, c.percent)
		}
	}
}

// A tape of which nobody knows the reference is lined up to -18 dBFS.
func TestTapeWithoutReference(t *testing.T) {
	want := NewTape(-18, 3)
	for _, reference := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := NewTape(reference, 3); got.gain != want.gain || got.hiss.level != want.hiss.level {
			t.Errorf("lined up to %v: %v and %v, want %v and %v", reference, got.gain, got.hiss.level, want.gain, want.hiss.level)
		}
	}
}

// The tape's curve ends flat at 1 - 2/3 + 1/5 = 8/15, whatever comes, on either side.
func TestCurveEndsFlat(t *testing.T) {
	for _, u := range []float32{1, 1.0001, 1.5, 2, 100} {
		x := []float32{u, -u}
		saturate(x)
		if math.Abs(float64(x[0])-8.0/15) > 1e-6 || x[1] != -x[0] {
			t.Errorf("%v becomes %v and %v", u, x[0], x[1])
		}
	}
}

// What is not a number is recorded as silence: no more than the dither's two steps.
func TestNoNumberIsSilence(t *testing.T) {
	nan := float32(math.NaN())
	l, r := []float32{nan, nan, nan, nan}, []float32{nan, nan, nan, nan}
	NewDigital(5).Process(l, r)
	for i := range l {
		if a, b := math.Abs(float64(l[i])), math.Abs(float64(r[i])); !(a <= 2.0/(1<<23) && b <= 2.0/(1<<23)) {
			t.Errorf("sample %d is %v and %v", i, l[i], r[i])
		}
	}
}
