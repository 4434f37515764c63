package meter

import (
	"math"
	"testing"
)

// The interpolator against the sine it is given samples of: what interpolate.go
// says of the two half-band filters' passbands.
func TestInterpolator(t *testing.T) {
	for _, c := range []struct {
		to        float64 // cycles a sample
		tolerance float64 // share of the amplitude
	}{
		{0.4, 0.0021},
		{0.4167, 0.0026},
	} {
		worst := 0.0
		for f := 0.001; f <= c.to; f += 0.0017 {
			s := oversampler{}
			for i := range s.x {
				s.x[i] = float32(math.Sin(2*math.Pi*f*float64(i-lead) + 0.7))
			}
			s.prime()
			s.run(0)
			for i, v := range s.inOrder() {
				want := math.Sin(2*math.Pi*f*float64(i)/4 + 0.7)
				worst = max(worst, math.Abs(float64(v)-want))
			}
			// Primed, it knows the value before the block's first too.
			worst = max(worst, math.Abs(float64(s.last)-math.Sin(2*math.Pi*f*-0.25+0.7)))
		}
		if worst > c.tolerance {
			t.Errorf("up to %g of the rate: off by %.5f, want %.5f", c.to, worst, c.tolerance)
		}
		t.Logf("up to %g of the rate: off by %.5f", c.to, worst)
	}
}

// The movement derived from its two requirements has the figures the handbooks
// work with.
func TestMovement(t *testing.T) {
	if math.Abs(Standard.Zeta-0.8127) > 5e-5 || math.Abs(Standard.W-13.512) > 5e-4 {
		t.Errorf("zeta %v, w %v rad/s, want 0.8127 and 13.512", Standard.Zeta, Standard.W)
	}
}

// Carried over to the rate it is given for, the K-weighting is the printed one; at
// others it keeps its gain at the low end, the shelf's height and the corner's place.
func TestKWeightingRates(t *testing.T) {
	response := func(f biquad, hz float64, rate int) float64 {
		s, c := math.Sincos(-2 * math.Pi * hz / float64(rate))
		z := complex(c, s)
		g := (complex(f.b0, 0) + complex(f.b1, 0)*z + complex(f.b2, 0)*z*z) /
			(1 + complex(f.a1, 0)*z + complex(f.a2, 0)*z*z)
		return 20 * math.Log10(math.Hypot(real(g), imag(g)))
	}
	for _, given := range []biquad{shelf48, highPass48} {
		same := given.at(48000)
		for i, d := range []float64{same.b0 - given.b0, same.b1 - given.b1, same.b2 - given.b2, same.a1 - given.a1, same.a2 - given.a2} {
			if math.Abs(d) > 1e-12 {
				t.Errorf("coefficient %d at 48 kHz is off the table by %g", i, d)
			}
		}
		for _, rate := range []int{44100, 88200, 96000, 192000} {
			f := given.at(rate)
			for _, hz := range []float64{20, 38, 100, 500, 997, 1682, 3000, 6000} {
				want, got := response(given, hz, 48000), response(f, hz, rate)
				if math.Abs(got-want) > 0.05 {
					t.Errorf("%g Hz at a rate of %d Hz: %.3f dB, at 48 kHz %.3f dB", hz, rate, got, want)
				}
			}
		}
	}
}

// The parabola adds no more than what four times oversampling can miss of a tone at half
// the sample rate, whose values are up to pi/8 from its top.
func TestVertex(t *testing.T) {
	most := 1 / math.Cos(math.Pi/8)
	for _, c := range []struct {
		a, y, b float32
		want    float64
	}{
		{1, 1, 1, 1}, {-3, 1, 1, most}, {-1, -1, 3, most}, {0.5, 0.2, 0.1, 0},
		{float32(math.Cos(math.Pi / 8)), float32(math.Cos(math.Pi / 8)), float32(math.Cos(3 * math.Pi / 8)), 0.992},
	} {
		if got := float64(vertex(c.a, c.y, c.b, 0)); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("through %v, %v and %v: %.4f, want %.4f", c.a, c.y, c.b, got, c.want)
		}
	}
}

// Blocks that lie in the bin of the second gate pass or fail by their own mean: beside one of
// mean square 1, the gate lies at (1+y)/20, which is y itself at y = 1/19 (worked by hand).
func TestBlocksAtTheGate(t *testing.T) {
	for _, c := range []struct{ y, want float64 }{
		{1/19.0 - 1e-6, 1},                       // just below, left out
		{1/19.0 + 1e-6, (1 + 1/19.0 + 1e-6) / 2}, // just above
	} {
		if bin(c.y) != bin((1+c.y)*0.05) {
			t.Fatalf("%g is not in the bin of its gate", c.y)
		}
		var h histogram
		h.add(1)
		h.add(c.y)
		if got := h.mean(); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("beside a block of %.7f: %.7f, want %.7f", c.y, got, c.want)
		}
	}
}
