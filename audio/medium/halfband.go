package medium

// halfBand is one half-band low-pass filter on its way up to twice the rate
// or down from it: two chains of three first-order all-passes each, whose sum
// passes up to 20 kHz (at 48 kHz) and stops 96 dB from 28 kHz on. The
// coefficients are those of an elliptic half-band filter of order 13 with
// that transition (R. A. Valenzuela, A. G. Constantinides, "Digital signal
// processing schemes for efficient interpolation and decimation", IEE Proc. G
// 130, 1983).
//
// The state of a chain is its input and the output of each all-pass one
// sample ago.
type halfBand struct{ p, q [4]float32 }

const (
	p0, p1, p2 = 0.044181909, 0.330744162, 0.702052852
	q0, q1, q2 = 0.164188860, 0.515086943, 0.894889642

	// tiny keeps the filters' states, and the squares of what they give, away
	// from denormal numbers, which are slow, when the input has gone silent;
	// -300 dBFS.
	tiny = 1e-15
)

// up writes src at twice the rate.
func (h *halfBand) up(dst, src []float32) {
	a0, a1, a2, a3 := h.p[0], h.p[1], h.p[2], h.p[3]
	b0, b1, b2, b3 := h.q[0], h.q[1], h.q[2], h.q[3]
	dst = dst[:2*len(src)]
	for i, x := range src {
		x += tiny
		y := float32(p0*(x-a1)) + a0
		a0 = x
		z := float32(p1*(y-a2)) + a1
		a1 = y
		w := float32(p2*(z-a3)) + a2
		a2, a3 = z, w
		dst[2*i] = w

		y = float32(q0*(x-b1)) + b0
		b0 = x
		z = float32(q1*(y-b2)) + b1
		b1 = y
		w = float32(q2*(z-b3)) + b2
		b2, b3 = z, w
		dst[2*i+1] = w
	}
	h.p = [4]float32{a0, a1, a2, a3}
	h.q = [4]float32{b0, b1, b2, b3}
}

// down writes src at half the rate.
func (h *halfBand) down(dst, src []float32) {
	a0, a1, a2, a3 := h.p[0], h.p[1], h.p[2], h.p[3]
	b0, b1, b2, b3 := h.q[0], h.q[1], h.q[2], h.q[3]
	src = src[:2*len(dst)]
	for i := range dst {
		x := src[2*i+1] + tiny
		y := float32(p0*(x-a1)) + a0
		a0 = x
		z := float32(p1*(y-a2)) + a1
		a1 = y
		w := float32(p2*(z-a3)) + a2
		a2, a3 = z, w
		sum := w

		x = src[2*i] + tiny
		y = float32(q0*(x-b1)) + b0
		b0 = x
		z = float32(q1*(y-b2)) + b1
		b1 = y
		w = float32(q2*(z-b3)) + b2
		b2, b3 = z, w
		dst[i] = 0.5 * (sum + w)
	}
	h.p = [4]float32{a0, a1, a2, a3}
	h.q = [4]float32{b0, b1, b2, b3}
}
