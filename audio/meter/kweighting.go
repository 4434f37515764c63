package meter

import "math"

// biquad is a second-order digital filter, a0 = 1.
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// The two stages of the K-weighting at 48 kHz (ITU-R BS.1770-5, annex 1, tables 1
// and 2): a shelf for the head, and a high-pass.
var (
	shelf48    = biquad{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585}
	highPass48 = biquad{1, -2, 1, -1.99004745483398, 0.99007225036621}
)

// at converts a filter given at 48 kHz to another rate through its analogue
// prototype H(s) = (n0 + n1 s + n2 s^2) / (1 + s/Q + s^2), s in units of its corner
// frequency. The table's filter is taken as the bilinear transform of that
// prototype with the corner in place, so the same is done again at the new rate.
func (f biquad) at(rate int) biquad {
	sum := 1 + f.a1 + f.a2
	k := math.Sqrt(sum / (1 - f.a1 + f.a2)) // tan(pi corner / 48000)
	q1 := 2 * k * (1 - f.a2) / sum
	n0 := (f.b0 + f.b1 + f.b2) / sum
	n1 := 2 * k * (f.b0 - f.b2) / sum
	n2 := k * k * (f.b0 - f.b1 + f.b2) / sum

	k = math.Tan(math.Atan(k) * 48000 / float64(rate))
	kk, q1k := float64(k*k), float64(q1*k)
	n0k, n1k := float64(n0*k*k), float64(n1*k)
	d := 1 + q1k + kk
	return biquad{
		b0: (n2 + n1k + n0k) / d,
		b1: 2 * (n0k - n2) / d,
		b2: (n2 - n1k + n0k) / d,
		a1: 2 * (kk - 1) / d,
		a2: (1 - q1k + kk) / d,
	}
}

// kfilter is both stages in a row; the second's numerator, g (1 - z^-1)^2, has
// its gain moved into the first.
type kfilter struct {
	shelf  biquad
	c1, c2 float64
}

func kweighting(rate int) kfilter {
	s, h := shelf48.at(rate), highPass48.at(rate)
	s.b0 *= h.b0
	s.b1 *= h.b0
	s.b2 *= h.b0
	return kfilter{shelf: s, c1: h.a1, c2: h.a2}
}

// weigh filters one channel and adds up its energy.
func (f *kfilter) weigh(x []float32, c *kchannel) {
	b0, b1, b2, a1, a2, c1, c2 := f.shelf.b0, f.shelf.b1, f.shelf.b2, f.shelf.a1, f.shelf.a2, f.c1, f.c2
	s1, s2, t1, t2 := c.state[0], c.state[1], c.state[2], c.state[3]
	e := c.energy
	for _, v := range x {
		x := float64(v)
		y := float64(b0*x) + s1
		s1 = (float64(b1*x) + s2) - float64(a1*y)
		s2 = float64(b2*x) - float64(a2*y)
		z := y + t1
		t1 = (t2 - float64(2*y)) - float64(c1*z)
		t2 = y - float64(c2*z)
		e += float64(z * z)
	}
	c.state = [4]float64{s1, s2, t1, t2}
	c.energy = e
}

// close returns the energy of the part just finished and begins the next. A part
// with samples that are not finite counts as silence. A filter that is nearly at rest
// is stopped before its values become denormal, which is slow.
func (c *kchannel) close() float64 {
	e := c.energy
	c.energy = 0
	quiet := true
	for _, s := range c.state {
		quiet = quiet && math.Abs(s) < 1e-30
	}
	if !(e <= math.MaxFloat32) || quiet {
		*c = kchannel{}
	}
	if !(e <= math.MaxFloat32) {
		return 0
	}
	return e
}
