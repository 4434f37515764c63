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

// at carries a filter given at 48 kHz over to another rate by way of its analogue
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
	d := 1 + q1*k + k*k
	return biquad{
		b0: (n2 + n1*k + n0*k*k) / d,
		b1: 2 * (n0*k*k - n2) / d,
		b2: (n2 - n1*k + n0*k*k) / d,
		a1: 2 * (k*k - 1) / d,
		a2: (1 - q1*k + k*k) / d,
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
		y := b0*x + s1
		s1 = (b1*x + s2) - a1*y
		s2 = b2*x - a2*y
		z := y + t1
		t1 = (t2 - 2*y) - c1*z
		t2 = y - c2*z
		e += z * z
	}
	c.state = [4]float64{s1, s2, t1, t2}
	c.energy = e
}

// close returns the energy of the part just finished and begins the next. A part
// that broke the filter counts as silence; a filter that has all but come to rest
// is stopped, ahead of the range in which arithmetic becomes slow.
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
