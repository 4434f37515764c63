package meter

// blockFrames is the number of input frames handled at a time by every meter that
// looks between the samples. Blocks are aligned to the position since the start, so
// that the result does not depend on how a signal is divided among calls.
const blockFrames = 32

// The interpolator is a cascade of two half-band filters: the first doubles the
// rate (24 taps a new sample, flat within 0.006 dB to 0.4167 of the sample rate,
// 20 kHz at 48 kHz), the second doubles it again (6 taps, flat within 0.01 dB to
// 20.2 kHz at 48 kHz). The samples themselves pass through untouched. That is
// twice the taps of the example filter in ITU-R BS.1770-5 annex 2.
//
// Both are the Chebyshev solution of sum 2 h[k] cos((2k+1) pi f) = 1 over their
// passband, found by iteratively reweighted least squares; the tests check the
// responses claimed here.
var (
	half1 = [taps1]float32{
		0.6336006184782483, -0.2032937382557036, 0.11293827760610761, -0.07174641457286787,
		0.047562686136094746, -0.031677909718147074, 0.020734481783049805, -0.013111572780734874,
		0.007872301873902584, -0.0043878060012655295, 0.002188950871306134, -0.0010172482774055813,
	}
	half2 = [taps2]float32{0.598303792, -0.118284700, 0.020486628}
)

const (
	oversampling = 4

	taps1 = 12 // pairs of taps of the first half-band filter
	taps2 = 3  // of the second

	history = 26 // input frames kept from before a block
	lead    = 13 // where the first sample of the oversampled block stands in x; also its delay
)

// oversampler turns a stream into blocks of oversampled signal. Phase by phase,
// one period of the sample clock holds: the sample x[lead+t], then q1[t],
// o[2+t], q2[t] at a quarter, half and three quarters of the way to the next.
type oversampler struct {
	n      int // frames of x filled beyond the history
	x      [history + blockFrames]float32
	o      [3 + blockFrames]float32
	q1, q2 [blockFrames]float32
	last   float32 // the oversampled value before this block's first
}

// blocks takes samples in and calls do at each block that they complete.
func (s *oversampler) blocks(samples []float32, do func()) {
	for {
		m := copy(s.x[history+s.n:], samples)
		samples = samples[m:]
		if s.n += m; s.n < blockFrames {
			return
		}
		do()
		s.next()
	}
}

// next makes room for the block to come.
func (s *oversampler) next() {
	copy(s.x[:history], s.x[blockFrames:])
	s.n = 0
}

// sums are what is gathered over a complete block.
type sums struct {
	magnitude float32 // sum over its blockFrames*oversampling values, each less a constant
	peak      float32 // greatest magnitude of the values themselves
	plain     float32 // sum over its samples
}

// run interpolates the complete block.
func (s *oversampler) run(constant float32) sums {
	var l lanes
	s.o[0], s.o[1], s.o[2] = s.o[blockFrames], s.o[blockFrames+1], s.o[blockFrames+2]
	s.last = s.q2[blockFrames-1]
	quadruple(&s.x, &s.o, &s.q1, &s.q2, constant, &l)
	return l.fold()
}

// prime recomputes what run keeps of the block before, for use after blocks that
// were skipped.
func (s *oversampler) prime() {
	for i := range 3 {
		s.o[blockFrames+i] = between(s.x[i:])
	}
	o, x := s.o[blockFrames:], s.x[lead-1:]
	s.q2[blockFrames-1] = quarter(o[1], x[1], x[0], o[2], o[0], x[2])
}

// inOrder lays the oversampled values of the block out in order of time.
func (s *oversampler) inOrder() (row [oversampling * blockFrames]float32) {
	for t := range blockFrames {
		row[4*t] = s.x[lead+t]
		row[4*t+1] = s.q1[t]
		row[4*t+2] = s.o[2+t]
		row[4*t+3] = s.q2[t]
	}
	return row
}

// lanes are sums in eight lanes, the magnitudes and the peaks in a fixed order.
type lanes struct{ magnitudes, peaks, plain [8]float32 }

func (l *lanes) fold() sums {
	p := &l.peaks
	return sums{
		magnitude: added(&l.magnitudes),
		peak:      higher(higher(higher(p[0], p[1]), higher(p[2], p[3])), higher(higher(p[4], p[5]), higher(p[6], p[7]))),
		plain:     added(&l.plain),
	}
}

// added joins eight lanes in a fixed order.
func added(l *[8]float32) float32 {
	return ((l[0] + l[4]) + (l[2] + l[6])) + ((l[1] + l[5]) + (l[3] + l[7]))
}

// finite is v, or 0 if that is no finite number.
func finite(v float32) float64 {
	if v-v != 0 {
		return 0
	}
	return float64(v)
}

// total returns the sum of samples.
func total(x []float32) float64 {
	var a, b, c, d float64
	for ; len(x) >= 4; x = x[4:] {
		a, b, c, d = a+float64(x[0]), b+float64(x[1]), c+float64(x[2]), d+float64(x[3])
	}
	for _, v := range x {
		a += float64(v)
	}
	return (a + b) + (c + d)
}
