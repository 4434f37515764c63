package medium

import "math/rand/v2"

// Digital is a recorder with linear coding of a given word length.
//
// Samples are rounded to the code with triangular (TPDF) dither two steps
// wide, which makes the error a steady noise of half a step RMS that knows
// nothing of the signal (S. P. Lipshitz, R. A. Wannamaker, J. Vanderkooy,
// "Quantization and Dither: A Theoretical Survey", J. Audio Eng. Soc. 40,
// 1992): step²/12 from rounding and step²/6 from the dither. Re a full-scale
// sine that is -93.3 dBFS at 16 bits and -141.5 dBFS at 24. Above the largest
// code of either sign the sample is clipped to it.
type Digital struct {
	steps, step float32
	top, bottom int32
	noise       *rand.PCG
}

// NewDigital makes a digital medium of 16 or 24 bits; any other number counts
// as 24.
func NewDigital(bits int, seed uint64) *Digital {
	if bits != 16 {
		bits = 24
	}
	steps := int32(1) << (bits - 1)
	return &Digital{
		steps: float32(steps), step: 1 / float32(steps),
		top: steps - 1, bottom: -steps,
		noise: rand.NewPCG(seed, digitalStream),
	}
}

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
		l[i] = d.code(l[i], uint32(u))
		r[i] = d.code(r[i], uint32(u>>32))
	}
}

// code rounds one sample. The two halves of u are the two uniform variables
// whose sum makes the triangular dither.
func (d *Digital) code(x float32, u uint32) float32 {
	const unit = 1.0 / 65536
	// Beyond one and a half times full scale the conversion to an integer
	// could overflow; it clips all the same. What is not a number is silence.
	if x != x {
		x = 0
	}
	x = min(max(x, -1.5), 1.5)
	dither := float64(int32(u&0xffff)+int32(u>>16)-65535) * unit
	v := float64(float64(x)*float64(d.steps)) + dither + 0.5
	c := int32(v)
	if float64(c) > v {
		c-- // the conversion rounds towards zero; this is the floor
	}
	c = min(max(c, d.bottom), d.top)
	return float32(c) * d.step
}
