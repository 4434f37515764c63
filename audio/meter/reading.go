package meter

import "slowneedle/audio"

// Passage is what was read over a passage, in dBFS. A level is -Inf where there
// was only silence.
type Passage struct {
	Reading    float64 // what a trained reader calls; see Reader
	Max        float64 // the needle's greatest deflection
	SamplePeak float64
	TruePeak   float64 // dBTP
}

// UnderRead is by how much the needle under-reads the sample peak, in dB: 0 for a
// sine. It is NaN for silence.
func (p Passage) UnderRead() float64 { return p.SamplePeak - p.Reading }

// Reading rules; see Reader.
const (
	swingDB   = 1.0  // fall that ends a swing, rise that begins the next
	unusualDB = 1.0  // a swing higher than the next by more than this stands out
	countedDB = 20.0 // swings further below the greatest do not count: the scale ends there
	leftOut   = 2    // at most so many swings are left out
	onlyOneIn = 4    // and at most one in so many

	longSwing = 1.0 // seconds after which a swing is held, not thrown
	settling  = 0.8 // seconds in which the needle's own overshoot dies away to 0.03 %
)

var (
	swingRatio   = audio.Gain(swingDB)
	unusualRatio = audio.Gain(unusualDB)
	countedRatio = audio.Gain(-countedDB)
)

// swings follows a needle's course and keeps its highest tops.
type swings struct {
	perSecond float64 // steps
	up        bool
	edge      float64                      // top of the swing under way, or lowest point since the last
	steps     float64                      // since the swing began
	settled   float64                      // its top since the overshoot died away
	tops      [leftOut * onlyOneIn]float64 // highest first
	max       float64
}

// step takes the needle's next position.
func (s *swings) step(p float64) {
	p = max(p, 0)
	s.max = max(s.max, p)
	switch {
	case s.up && p*swingRatio < s.edge:
		s.keep(s.top())
		s.up, s.edge = false, p
	case s.up:
		s.edge = max(s.edge, p)
		if s.steps++; s.steps > settling*s.perSecond {
			s.settled = max(s.settled, p)
		}
	case p > s.edge*swingRatio:
		s.up, s.edge = true, p
		s.steps, s.settled = 0, 0
	default:
		s.edge = min(s.edge, p)
	}
}

// top is what the swing under way reads, so far.
func (s *swings) top() float64 {
	if s.steps > longSwing*s.perSecond {
		return max(s.settled, s.edge/(1+riseOvershoot))
	}
	return s.edge
}

func (s *swings) keep(top float64) {
	for i, t := range s.tops {
		if top > t {
			s.tops[i], top = top, t
		}
	}
}

// reading returns the position a trained reader calls.
func (s swings) reading() float64 {
	if s.up {
		s.keep(s.top())
	}
	if s.tops[0] == 0 { // it never moved by as much as a swing
		s.keep(s.max)
	}
	n := 0
	for n < len(s.tops) && s.tops[n] > 0 && s.tops[n] >= countedRatio*s.tops[0] {
		n++
	}
	switch may := n / onlyOneIn; {
	case may >= 2 && s.tops[1] > s.tops[2]*unusualRatio:
		return s.tops[2]
	case may >= 1 && s.tops[0] > s.tops[1]*unusualRatio:
		return s.tops[1]
	}
	return s.tops[0]
}

// Reader reads a passage as it goes by, from a needle at rest: needle, sample
// peak and true peak of one channel from one pass.
//
// # The reading
//
// The rule taught since 1940 (H. A. Chinn, D. K. Gannett, R. M. Morris, "A New
// Standard Volume Indicator and Reference Level", Bell System Technical Journal
// 19, 1940) is to call the greatest deflections over a passage, leaving out not
// more than one or two occasional deflections of unusual amplitude. Here that
// means exactly:
//
//   - A swing ends once the needle has fallen 1 dB below the swing's top; the next
//     begins once it has risen 1 dB from the lowest point since. A course that
//     never moves that much is one swing.
//   - A swing longer than a second was held, not thrown: it is read without the
//     needle's own overshoot, as the greatest from 0.8 s on, but not more than the
//     overshoot of 1.25 % below its top. So a tone reads its level from the start.
//   - Swings whose top is more than 20 dB below the highest do not count: that is
//     where the scale ends.
//   - Let d1, d2, d3 be the highest tops. If there are at least eight swings and
//     d2 stands more than 1 dB above d3, the reading is d3: two were unusual.
//     Else, if there are at least four and d1 stands more than 1 dB above d2, the
//     reading is d2: one was unusual. Else the reading is d1. So never more than
//     two swings, and never more than a quarter of them, are left out.
//
// Every comparison is of ratios: with the gain raised by g dB the reading rises
// by g dB.
type Reader struct {
	needle Needle
	swings swings
	peak   SamplePeak
	tp     float32
}

// NewReader returns a reader for one channel at a sample rate in hertz.
func NewReader(rate int) *Reader {
	return &Reader{needle: *NewNeedle(rate), swings: swings{perSecond: stepsPerSecond(rate)}}
}

func stepsPerSecond(rate int) float64 { return float64(max(rate, 1)) / chunk }

// Process reads on over a block of any length.
func (r *Reader) Process(block []float32) {
	r.peak.Process(block)
	n := &r.needle
	for {
		rest, full := n.over.fill(block)
		if !full {
			return
		}
		sum, peak := n.over.run()
		n.move(sum)
		r.swings.step(n.state.p)
		r.tp = n.over.truePeak(sum, peak, r.tp)
		n.over.next()
		block = rest
	}
}

// Passage returns what was read so far.
func (r *Reader) Passage() Passage {
	tail := r.needle.over
	return Passage{
		Reading:    audio.DB(r.swings.reading()),
		Max:        r.needle.MaxLevel(),
		SamplePeak: r.peak.Level(),
		TruePeak:   audio.DB(float64(tail.flush(r.tp))),
	}
}

// Reset starts a new passage from a needle at rest.
func (r *Reader) Reset() {
	r.needle.Reset()
	*r = Reader{needle: r.needle, swings: swings{perSecond: r.swings.perSecond}}
}
