package source

import (
	"math"

	"slowneedle/audio"
)

// levels are a loop's mean magnitude and sample peak, block by block.
type levels struct {
	mean, peak []float32
	course     []float64 // the needle's, kept to be written over
}

// measure fills blocks from..to.
func (l *levels) measure(x []float32, from, to int) {
	for b := from; b < to; b++ {
		var s0, s1, top float32
		for h := x[b*block : (b+1)*block]; len(h) >= 2; h = h[2:] {
			v, w := magnitude(h[0]), magnitude(h[1])
			s0 += v
			s1 += w
			top = max(top, v, w)
		}
		l.mean[b], l.peak[b] = (s0+s1)/block, top
	}
}

// magnitude returns |v|.
func magnitude(v float32) float32 {
	return math.Float32frombits(math.Float32bits(v) &^ (1 << 31))
}

// levelsOf measures a whole loop.
func levelsOf(x []float32) *levels {
	m := len(x) / block
	l := &levels{mean: make([]float32, m), peak: make([]float32, m)}
	l.measure(x, 0, m)
	return l
}

// The needle's movement at the rate of blocks: natural frequency and damping
// that reach 99 % of a step in 300 ms and overshoot it by 1.25 %
// (IEC 60268-17).
const (
	movementW    = 13.512
	movementZeta = 0.8127
)

// deflection runs the needle over the loop in its repeating state, under the
// gains given (nil: none), and returns the reading as an amplitude: the
// greatest deflection, one or two that stand out of the rest held to half a
// decibel above them. Package meter leaves those out altogether, which makes the
// reading jump by a decibel where this one passes smoothly.
func (l *levels) deflection(gain []float32) float64 {
	const dt = float64(block) / audio.Rate
	const pull = movementW * movementW * dt
	const drag = 1 - 2*movementZeta*movementW*dt
	m := len(l.mean)
	if l.course == nil {
		l.course = make([]float64, m)
	}
	var pos, vel float64
	run := func(from int) {
		for i, v := range l.mean[from:] {
			if gain != nil {
				v *= gain[from+i]
			}
			vel = drag*vel + pull*(math.Pi/2*float64(v)-pos)
			pos += dt * vel
			l.course[from+i] = pos
		}
	}
	run(max(0, m-600)) // one and a half seconds settle it to a millionth
	run(0)
	lowest := 0
	for i, v := range l.course {
		if v < l.course[lowest] {
			lowest = i
		}
	}
	var s swings
	s.edge = max(0, l.course[lowest])
	for _, part := range [2][]float64{l.course[lowest:], l.course[:lowest]} {
		for _, v := range part {
			s.step(v)
		}
	}
	return s.reading()
}

// swings keeps the highest tops of a needle's course. A swing ends and begins
// at a change of 1 dB.
type swings struct {
	up   bool
	edge float64
	most float64
	tops [8]float64 // highest first
}

const oneDB = 1.122018454301963

func (s *swings) step(v float64) {
	s.most = max(s.most, v)
	switch {
	case s.up && v*oneDB < s.edge:
		s.keep(s.edge)
		s.up, s.edge = false, v
	case s.up:
		s.edge = max(s.edge, v)
	case v > s.edge*oneDB:
		s.up, s.edge = true, v
	default:
		s.edge = min(s.edge, v)
	}
}

func (s *swings) keep(top float64) {
	for i, t := range s.tops {
		if top > t {
			s.tops[i], top = top, t
		}
	}
}

func (s *swings) reading() float64 {
	if s.up {
		s.keep(s.edge)
	}
	if s.tops[0] < s.most {
		s.keep(s.most)
	}
	n := 0
	for n < len(s.tops) && s.tops[n] > 0.1*s.tops[0] {
		n++
	}
	const half = 1.059253725177289 // 0.5 dB
	read := s.tops[0]
	if n >= 4 {
		read = min(read, half*s.tops[1])
	}
	if n >= 8 {
		read = min(read, half*s.tops[2])
	}
	return read
}

// highest returns the greatest peak under the gains given (nil: none).
func (l *levels) highest(gain []float32) float64 {
	var top float32
	for i, v := range l.peak {
		if gain != nil {
			v *= gain[i]
		}
		top = max(top, v)
	}
	return float64(top)
}

// shape returns the gains that bring the loop to an under-read in dB: a gentle
// limiter where it under-reads more, a lift of the onsets where it under-reads
// less. The strength is found by halving, on block levels only.
func (l *levels) shape(under float64) []float32 {
	m := len(l.mean)
	gain := make([]float32, m)
	read := l.deflection(nil)
	top := l.highest(nil)
	if read <= 0 || top <= 0 {
		for i := range gain {
			gain[i] = 1
		}
		return gain
	}
	now := audio.DB(top / read)
	set := l.limit
	if now < under {
		set = l.lift
	}
	// Halve four times, then go by straight lines: the result moves smoothly
	// with the levels, so that it does not hang on their last bits.
	try := func(strength float64) float64 {
		set(gain, strength, top, read)
		return audio.DB(l.highest(gain)/l.deflection(gain)) - under
	}
	lo, hi := 0.0, 1.0
	flo, fhi := now-under, try(1)
	if (flo > 0) == (fhi > 0) {
		return gain
	}
	for i := range 6 {
		mid := (lo + hi) / 2
		if i >= 4 {
			mid = lo + (hi-lo)*flo/(flo-fhi)
		}
		if f := try(mid); (f > 0) == (flo > 0) {
			lo, flo = mid, f
		} else {
			hi, fhi = mid, f
		}
	}
	set(gain, lo+(hi-lo)*flo/(flo-fhi), top, read)
	return gain
}

// limit fills gain with a soft limiter's: strength 0 does nothing, 1 takes three
// quarters of what peaks stand above 32 dB below the highest. Not all, so that
// strokes keep apart: where all are equally high, a lamp goes from dark to lit in
// one step, which no real source does. It looks one block ahead and lets go in 80 ms.
func (l *levels) limit(gain []float32, strength, top, _ float64) {
	at := float32(top * audio.Gain(-32*strength))
	m := len(gain)
	release := float32(1 - math.Exp(-float64(block)/(0.08*audio.Rate)))
	g := float32(1)
	for i := -40; i < m; i++ {
		j := (i + m) % m
		want := float32(1)
		if v := max(l.peak[(j+m-1)%m], l.peak[j], l.peak[(j+1)%m]); v > at {
			r := float64(at / v)
			want = float32(math.Sqrt(r * math.Sqrt(r)))
		}
		g += release * (1 - g)
		g = min(g, want)
		gain[j] = g
	}
}

// lift fills gain with a lift of what stands out of the level around it:
// strength 0 does nothing, 1 doubles in dB how far an onset stands out.
func (l *levels) lift(gain []float32, strength, _, read float64) {
	m := len(gain)
	slow := float32(1 - math.Exp(-float64(block)/(0.12*audio.Rate)))
	s := float32(0)
	floor := float32(read * 0.1)
	for i := -150; i < m; i++ {
		j := (i + m) % m
		v := l.peak[j]
		out := float32(1)
		if ref := max(s, floor); v > ref {
			out = v / ref
		}
		s += slow * (v - s)
		if i >= 0 {
			gain[j] = float32(math.Pow(float64(out), strength))
		}
	}
}
