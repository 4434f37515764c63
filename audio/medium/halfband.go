package medium

// halfBand is one half-band low-pass filter on its way up to twice the rate
// or down from it: two chains of three first-order all-passes each, whose sum
// passes up to 20 kHz (at 48 kHz) and stops 96 dB from 28 kHz on. The
// coefficients are those of an elliptic half-band filter of order 13 with
// that transition (R. A. Valenzuela, A. G. Constantinides, "Digital signal
// processing schemes for efficient interpolation and decimation", IEE Proc. G
// 130, 1983).
type halfBand struct{ p, q chain }

const (
	// tiny keeps the filters' states, and the squares of what they give, away
	// from denormal numbers, which are slow, when the input has gone silent;
	// -300 dBFS.
	tiny = 1e-15

	p0, p1, p2 = 0.044181909, 0.330744162, 0.702052852
	q0, q1, q2 = 0.164188860, 0.515086943, 0.894889642
)

// chain is three all-passes in a row: its input and the output of each, one sample
// ago.
type chain [4]float32

// pass takes one sample through a chain with these coefficients.
func (c *chain) pass(x, k0, k1, k2 float32) float32 {
	y := float32(k0*(x-c[1])) + c[0]
	z := float32(k1*(y-c[2])) + c[1]
	w := float32(k2*(z-c[3])) + c[2]
	*c = chain{x, y, z, w}
	return w
}

// up writes src at twice the rate.
func (h *halfBand) up(dst, src []float32) {
	p, q := h.p, h.q
	dst = dst[:2*len(src)]
	for i, x := range src {
		x += tiny
		dst[2*i] = p.pass(x, p0, p1, p2)
		dst[2*i+1] = q.pass(x, q0, q1, q2)
	}
	h.p, h.q = p, q
}

// down writes src at half the rate.
func (h *halfBand) down(dst, src []float32) {
	p, q := h.p, h.q
	src = src[:2*len(dst)]
	for i := range dst {
		sum := p.pass(src[2*i+1]+tiny, p0, p1, p2)
		dst[i] = 0.5 * (sum + q.pass(src[2*i]+tiny, q0, q1, q2))
	}
	h.p, h.q = p, q
}
