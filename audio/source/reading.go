package source

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
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

// deflection returns the reading of the loop in its repeating state, under the
// gains given (nil: none), as an amplitude.
func (l *levels) deflection(gain []float32) float64 {
	if l.course == nil {
		l.course = make([]float64, len(l.mean))
	}
	for i, v := range l.mean {
		if gain != nil {
			v *= gain[i]
		}
		l.course[i] = float64(v)
	}
	return meter.ReadMeans(l.course, float64(block)/audio.Rate)
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
