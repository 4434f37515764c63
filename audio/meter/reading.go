package meter

import (
	"math"

	"slowneedle/audio"
)

// Passage is what was read over a passage, in dBFS. A level is -Inf where there
// was only silence.
type Passage struct {
	Reading    float64 // what a trained reader calls; see Reader
	Max        float64 // the needle's greatest deflection
	SamplePeak float64
	TruePeak   float64 // dBTP, as if silence followed; ITU-R BS.1770-5
	Constant   float64 // mean of the samples, full scale 1: the direct current, which no needle shows
}

// UnderRead is by how much the needle under-reads the sample peak, in dB: 0 for a
// sine. It is NaN for silence.
func (p Passage) UnderRead() float64 { return p.SamplePeak - p.Reading }

// Reading rules; see Reader. A distance in level between the two bounds of a fade
// has an effect between none and the whole.
const (
	swingDB   = 1.0  // a dip of less does not part two swings
	unusualDB = 1.0  // a swing no further above the next is not unusual
	fadeDB    = 1.0  // width of both fades: a dip and a lead of 2 dB have their whole effect
	countedDB = 12.1 // swings down to here below the greatest count in full
	endDB     = 21   // and not at all from here on: the scale ends there
	leftOut   = 2    // at most so many swings are left out
	onlyOneIn = 4    // and at most one in so many

	longSwing = 1.0 // seconds after which a swing begins to count as held, not thrown
	heldSwing = 1.5 // seconds after which it does
	settling  = 0.8 // seconds in which the needle's own overshoot dies away to 0.03 %
)

var (
	swingRatio   = audio.Gain(swingDB)
	countedRatio = audio.Gain(-countedDB)
	endRatio     = audio.Gain(-endDB)
)

// ramp is 0 up to from, 1 beyond to, a straight line between.
func ramp(v, from, to float64) float64 { return min(max((v-from)/(to-from), 0), 1) }

// swings follows a needle's course and keeps its highest tops, each with a weight:
// 1 if the needle fell by 2 dB or more on both sides before it rose higher, 0 if by
// 1 dB or less. That smaller fall, the top's prominence, changes smoothly with the
// course.
type swings struct {
	perSecond float64 // steps
	up        bool
	edge      float64 // top of the swing under way, or lowest point since the last
	steps     float64 // since the swing began
	settled   float64 // its top since the overshoot died away

	open  [32]openTop // each lower than the one before, with a higher dip behind it
	depth int         // of open
	tops  [32]top     // highest first
}

// openTop is a top whose prominence is not known yet, for the course has neither
// risen above it nor fallen below the dip ahead of it.
type openTop struct {
	high  float64
	value float64 // what it reads
	dip   float64 // lowest point since
}

// top is a swing that ended. Its weight is 0 to 1.
type top struct{ value, weight float64 }

// step takes the needle's next position.
func (s *swings) step(p float64) {
	p = max(p, 0)
	switch {
	case s.up && float64(p*swingRatio) < s.edge:
		s.finish()
		s.up, s.edge = false, p
	case s.up:
		s.edge = max(s.edge, p)
		if s.steps++; s.steps > settling*s.perSecond {
			s.settled = max(s.settled, p)
		}
	case p > float64(s.edge*swingRatio):
		s.dip(s.edge)
		s.up, s.edge = true, p
		s.steps, s.settled = 0, 0
	default:
		s.edge = min(s.edge, p)
	}
}

// finish takes the top of the swing under way.
func (s *swings) finish() {
	for s.depth > 0 && s.open[s.depth-1].high <= s.edge {
		s.close()
	}
	if s.depth == len(s.open) {
		s.close()
	}
	s.open[s.depth] = openTop{high: s.edge, value: s.top()}
	s.depth++
}

// dip takes the lowest point between two swings.
func (s *swings) dip(low float64) {
	if s.depth == 0 {
		return
	}
	s.open[s.depth-1].dip = low
	for s.depth > 1 && low <= s.open[s.depth-2].dip {
		s.close()
	}
}

// close settles the newest open top: the higher of the dips on its two sides gives
// its prominence.
func (s *swings) close() {
	s.depth--
	t := s.open[s.depth]
	saddle := t.dip
	if s.depth > 0 {
		before := &s.open[s.depth-1]
		saddle = max(saddle, before.dip)
		before.dip = min(before.dip, t.dip)
	}
	s.keep(t.value, audio.DB(t.high)-audio.DB(saddle))
}

// top is what the swing under way reads, so far.
func (s *swings) top() float64 {
	held := ramp(s.steps, longSwing*s.perSecond, heldSwing*s.perSecond)
	overshoot := min(s.edge-s.settled, s.edge-s.edge/(1+riseOvershoot))
	return s.edge - float64(held*overshoot)
}

// keep files a top by its value, in place of the lowest kept if need be.
func (s *swings) keep(value, prominence float64) {
	t := top{value, ramp(prominence, swingDB, swingDB+fadeDB)}
	if t.weight == 0 {
		return
	}
	for i := range s.tops {
		if t.value > s.tops[i].value {
			s.tops[i], t = t, s.tops[i]
		}
	}
}

// end files all tops that are still open: nothing comes after them.
func (s *swings) end() {
	if s.up {
		s.finish()
	}
	for s.depth > 1 {
		s.close()
	}
	if s.depth == 1 {
		s.keep(s.open[0].value, math.Inf(1))
	}
}

// reading returns the position a trained reader calls, 0 for silence.
func (s swings) reading() float64 {
	s.end()
	if s.tops[0].value == 0 {
		return 0
	}

	// The places of the highest eight, from the first down: how far below the highest,
	// in dB, and how far they count. Tops of less weight share a place.
	var below, counts [leftOut * onlyOneIn]float64
	var filled float64
	for _, t := range s.tops {
		if t.weight == 0 {
			break
		}
		share := t.value / s.tops[0].value
		for i := range below {
			part := max(min(filled+t.weight, float64(i+1))-max(filled, float64(i)), 0)
			below[i] += float64(part * audio.DB(share))
			counts[i] += float64(part * ramp(share, endRatio, countedRatio))
		}
		filled += t.weight
	}
	one := counts[onlyOneIn-1] * unusual(below[0]-below[1])
	two := 0.0
	for _, c := range counts[onlyOneIn:] { // the second comes in by quarters
		two += c / onlyOneIn
	}
	two *= unusual(below[1] - below[2])
	read := below[0] - float64(one*(below[0]-below[1]))
	read -= float64(two * (read - below[2]))
	return s.tops[0].value * audio.Gain(read)
}

// unusual is how far a swing is left out that stands so many dB above the next:
// not at all up to 1 dB, altogether from 2 dB on. In between the reading falls by
// as much as the swing rises.
func unusual(db float64) float64 {
	if db <= unusualDB {
		return 0
	}
	return min((db-unusualDB)*(1+unusualDB/fadeDB)/db, 1)
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
//   - A swing is a top of the needle's course. It counts in full if the needle falls
//     by 2 dB or more on both sides before it rises higher than there, not at all if
//     by less than 1 dB, in part in between.
//   - A swing longer than a second was held, not thrown: it is read without the
//     needle's own overshoot, as the greatest from 0.8 s on, but not more than the
//     overshoot of 1.25 % below its top; fully so from 1.5 s on. So a tone reads
//     its level from the start.
//   - Swings within 12 dB of the highest count, from 21 dB on none does: that is
//     where the scale ends. In between they count in part.
//   - Let d1, d2, d3 be the highest tops. If there are at least eight swings and
//     d2 stands 2 dB or more above d3, the reading is d3: two were unusual.
//     Else, if there are at least four and d1 stands 2 dB or more above d2, the
//     reading is d2: one was unusual. Else, if it is by less than 1 dB, the reading
//     is d1. So never more than two swings, and never more than a quarter of them,
//     are left out. Between 1 and 2 dB, between three swings and four, and from five
//     to eight, the reading goes over from one to the other.
//
// So the reading is a continuous function of the needle's course: noise far below
// the sound moves it by as little as it moves the needle. With the gain raised by
// g dB it rises by g dB.
//
// The passage is one observation. The standard has the reader watch programme for
// about a minute and speech for 5 to 10 seconds (ANSI C16.5, from memory), and what
// is read of speech depends on that time (B. Lobdell, J. Allen, "A model of the VU
// (volume-unit) meter, with speech applications", J. Acoust. Soc. Am. 121, 2007): a
// loop of 8 to 16 s lies between the two; over a longer recording fewer deflections
// are left out than a reader would who began again every minute.
type Reader struct {
	needle Needle
	swings swings
	peak   SamplePeak
	tp     float32
	frames int64
	sum    float64 // of the samples that the needle has moved by
}

// NewReader returns a reader for one channel at a sample rate in hertz.
func NewReader(rate int) *Reader {
	perSecond := float64(max(rate, 1)) / blockFrames
	return &Reader{needle: *NewNeedle(rate), swings: swings{perSecond: perSecond}}
}

// StartFrom has the passage begin as if a constant had always stood on the line
// before it: a recording with a constant of that much, in samples of full scale 1,
// then begins without a throw of the needle. Call it before the first Process.
func (r *Reader) StartFrom(constant float64) {
	r.needle.mean, r.needle.constant = constant, constant
}

// Process reads on over any number of samples.
func (r *Reader) Process(samples []float32) {
	r.peak.Process(samples)
	r.frames += int64(len(samples))
	n := &r.needle
	n.over.blocks(samples, func() {
		s := n.over.run(float32(n.constant))
		n.move(s)
		r.sum += finite(s.plain)
		r.swings.step(n.state.P)
		r.tp = n.over.truePeak(s, r.tp)
	})
}

// Passage returns what was read so far.
func (r *Reader) Passage() Passage {
	tail := r.needle.over
	sum := r.sum + finite(float32(total(tail.x[lead:history+tail.n])))
	return Passage{
		Reading:    audio.DB(r.swings.reading()),
		Max:        r.needle.MaxLevel(),
		SamplePeak: r.peak.Level(),
		TruePeak:   audio.DB(float64(tail.flush(r.tp))),
		Constant:   sum / float64(max(r.frames, 1)),
	}
}
