package meter

import (
	"math"

	"slowneedle/audio"
)

// Programme is a peak programme meter on one channel, type IIa of IEC 60268-10: a
// second slow meter, quicker than the needle. It reads the peak of a steady tone;
// a burst of 5 kHz tone lasting 10 ms it under-reads by 2.5 dB, one of 1.5 ms by
// 9 dB, and it falls by 24 dB in 2.8 s.
//
// The model is two peak rectifiers with a common discharge, fed by the oversampled
// signal, their outputs weighed together; the charging times and the weights are
// fitted to the standard's table of bursts.
type Programme struct {
	over             oversampler
	chargeA, chargeB float64 // share of what lacks, taken over at each step
	hold, holdChunk  float64 // share left after the discharge of a step, of a chunk
	a, b             float64
}

const (
	programmeShare = 0.65   // weight of the quicker rectifier
	programmeA     = 0.0013 // charging time constants, s
	programmeB     = 0.0097
	programmeFall  = 24 / 2.8 // dB a second

	// programmeTone is where a steady tone settles, relative to its peak.
	programmeTone = 0.968
)

// NewProgramme returns a programme meter at rest for a sample rate in hertz.
func NewProgramme(rate int) *Programme {
	rate = max(rate, 1)
	p := &Programme{over: newOversampler(rate)}
	step := 1 / float64(rate*p.over.factor)
	p.chargeA = -math.Expm1(-step / programmeA)
	p.chargeB = -math.Expm1(-step / programmeB)
	p.hold = audio.Gain(-programmeFall * step)
	p.holdChunk = audio.Gain(-programmeFall * chunk / float64(rate))
	return p
}

// Process takes a block of any length.
func (p *Programme) Process(block []float32) {
	for {
		rest, full := p.over.fill(block)
		if !full {
			return
		}
		s := p.over.run(0)
		switch rest := min(p.a, p.b) * p.holdChunk; {
		case !(s.magnitude <= math.MaxFloat32), float64(s.peak) <= rest: // nothing charges
			p.a *= p.holdChunk
			p.b *= p.holdChunk
		default:
			p.charge()
		}
		if max(p.a, p.b) < 1e-30 {
			p.a, p.b = 0, 0
		}
		p.over.next()
		block = rest
	}
}

// charge takes the oversampled chunk through the rectifiers.
func (p *Programme) charge() {
	// a, discharged, is a*hold; if v lies above that it gains its share of the
	// rest, which comes to a*keep + charge*v. The greater of the two is the right
	// one, and choosing it takes no branch.
	a, b, hold := p.a, p.b, p.hold
	chargeA, chargeB := p.chargeA, p.chargeB
	keepA, keepB := hold*(1-chargeA), hold*(1-chargeB)
	var row [4 * chunk]float32
	for _, v := range p.over.inOrder(&row) {
		v := float64(abs32(v))
		a = greater(a*hold, a*keepA+chargeA*v)
		b = greater(b*hold, b*keepB+chargeB*v)
	}
	p.a, p.b = a, b
}

// greater is the greater of two numbers that are not negative.
func greater(a, b float64) float64 {
	return math.Float64frombits(max(math.Float64bits(a), math.Float64bits(b)))
}

// Level is what the meter shows, in dBFS: a steady sine of that level shows the
// same. It is -Inf at rest.
func (p *Programme) Level() float64 {
	return audio.DB((programmeShare*p.a + (1-programmeShare)*p.b) / programmeTone)
}

// Reset puts the meter to rest.
func (p *Programme) Reset() {
	p.over = oversampler{factor: p.over.factor}
	p.a, p.b = 0, 0
}
