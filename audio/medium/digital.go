package medium

import "math/rand/v2"

// Digital is a recorder with linear coding of 24 bits.
//
// Samples are rounded to the code with triangular (TPDF) dither two steps
// wide, which makes the error a steady noise of half a step RMS that knows
// nothing of the signal (S. P. Lipshitz, R. A. Wannamaker, J. Vanderkooy,
// "Quantization and Dither: A Theoretical Survey", J. Audio Eng. Soc. 40,
// 1992): step²/12 from rounding and step²/6 from the dither. Re a full-scale
// sine that is -141.5 dBFS. Above the largest code of either sign the sample is
// clipped to it.
type Digital struct{ noise *rand.PCG }

const codes = 1 << 23 // of either sign

// NewDigital makes a digital medium.
func NewDigital(seed uint64) *Digital { return &Digital{rand.NewPCG(seed, digitalStream)} }

// The second words of the media's generators: one seed, separate noises.
const (
	digitalStream = 0x6469676974616c
	tapeStream    = 0x74617065
)

// Latency is 0.
func (d *Digital) Latency() int { return 0 }

// Process records and replays two channels in place.
func (d *Digital) Process(l, r []float32) {
	r = r[:len(l)]
	for i := range l {
		u := d.noise.Uint64()
		l[i] = code(l[i], uint32(u))
		r[i] = code(r[i], uint32(u>>32))
	}
}

// code rounds one sample. The two halves of u are the two uniform variables
// whose sum makes the triangular dither.
func code(x float32, u uint32) float32 {
	const unit = 1.0 / 65536
	// Beyond one and a half times full scale the conversion to an integer
	// could overflow; it clips all the same. What is not a number is silence.
	if x != x {
		x = 0
	}
	x = min(max(x, -1.5), 1.5)
	dither := float64(int32(u&0xffff)+int32(u>>16)-65535) * unit
	v := float64(float64(x)*codes) + dither + 0.5
	c := int32(v)
	if float64(c) > v {
		c-- // the conversion rounds towards zero; this is the floor
	}
	return float32(min(max(c, -codes), codes-1)) * (1.0 / codes)
}
