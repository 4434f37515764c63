package meter

import (
	"math"

	"slowneedle/audio"
)

// Programme is a peak programme meter on one channel, type IIa of IEC 60268-10: a
// second slow meter, quicker than the needle. It reads the peak of a steady tone,
// under-reads a burst of 5 kHz tone by 2.5 dB if it lasts 10 ms and by 9 dB if it lasts
// 1.5 ms, and falls by 24 dB in 2.8 s. (A meter of type I, the other in the standard,
// falls by 20 dB in 1.7 s.)
//
// The model is two peak rectifiers with a common discharge, fed by the oversampled
// signal, their outputs added with weights; the charging times and the weights are
// fitted to the standard's table of bursts.
type Programme struct {
	over             oversampler
	chargeA, chargeB float64 // share of the difference taken up at each step
	hold, holdBlock  float64 // share left after the discharge of a step, of a block
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
	p := &Programme{}
	step := 1 / float64(rate*oversampling)
	p.chargeA = -math.Expm1(-step / programmeA)
	p.chargeB = -math.Expm1(-step / programmeB)
	p.hold = audio.Gain(-programmeFall * step)
	p.holdBlock = audio.Gain(-programmeFall * blockFrames / float64(rate))
	return p
}

// Process takes any number of samples.
func (p *Programme) Process(samples []float32) {
	p.over.blocks(samples, func() {
		s := p.over.run(0)
		if rest := min(p.a, p.b) * p.holdBlock; s.magnitude <= math.MaxFloat32 && float64(s.peak) > rest {
			p.charge()
		} else {
			p.a *= p.holdBlock
			p.b *= p.holdBlock
		}
		if max(p.a, p.b) < 1e-30 {
			p.a, p.b = 0, 0
		}
	})
}

// charge takes the oversampled block through the rectifiers.
func (p *Programme) charge() {
	// Discharged, a becomes a*hold; if v is above that it gains its share of the
	// difference, which makes it a*keep + charge*v. The greater of the two is the
	// right one, and can be chosen without a branch.
	a, b, hold := p.a, p.b, p.hold
	chargeA, chargeB := p.chargeA, p.chargeB
	keepA, keepB := hold*(1-chargeA), hold*(1-chargeB)
	for _, v := range p.over.inOrder() {
		v := float64(abs32(v))
		a = greater(float64(a*hold), float64(a*keepA)+float64(chargeA*v))
		b = greater(float64(b*hold), float64(b*keepB)+float64(chargeB*v))
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
	return audio.DB((float64(programmeShare*p.a) + float64((1-programmeShare)*p.b)) / programmeTone)
}
