package source

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// levels are a loop's mean magnitude and sample peak, block by block.
type levels struct {
	mean, peak []float32
}

// measure measures one channel.
func (p *plan) measure(x []float32) *levels {
	m := len(x) / block
	l := &levels{make([]float32, m), make([]float32, m)}
	for b := range m {
		if b%slice == 0 {
			p.pause()
		}
		var s0, s1 float32
		var top uint32
		for h := x[b*block : (b+1)*block]; len(h) >= 2; h = h[2:] {
			v, w := magnitudeBits(h[0]), magnitudeBits(h[1])
			s0 += math.Float32frombits(v)
			s1 += math.Float32frombits(w)
			top = max(top, v, w)
		}
		l.mean[b], l.peak[b] = (s0+s1)/block, math.Float32frombits(top)
	}
	return l
}

// magnitudeBits returns |v| as the bits that stand for it, which compare as the
// magnitudes do and faster.
func magnitudeBits(v float32) uint32 { return math.Float32bits(v) &^ (1 << 31) }

// levels measures channels: the mean is that of the one with the higher sum, the
// peak that of all.
func (p *plan) levels(channels [][]float32) *levels {
	all := make([]*levels, len(channels))
	var todo []func()
	for c, x := range channels {
		todo = append(todo, func() { all[c] = p.measure(x) })
	}
	p.together(todo...)
	l := all[0]
	for _, other := range all[1:] {
		var a, b float64
		for i := range l.mean {
			a += float64(l.mean[i])
			b += float64(other.mean[i])
			l.peak[i] = max(l.peak[i], other.peak[i])
		}
		if b > a {
			l.mean = other.mean
		}
	}
	return l
}

// deflection returns the reading of the loop in its repeating state, under the
// gains given, as an amplitude.
func (l *levels) deflection(gain []float32) float64 {
	course := make([]float64, len(l.mean))
	for i, v := range l.mean {
		course[i] = float64(v * gain[i])
	}
	return meter.ReadMeans(course, float64(block)/audio.Rate)
}

// highest returns the greatest peak under the gains given.
func (l *levels) highest(gain []float32) float64 {
	var top float32
	for i, v := range l.peak {
		top = max(top, v*gain[i])
	}
	return float64(top)
}

// shape returns the gains that bring a sound to an under-read in dB: a compressor
// where it under-reads more, a lift of the onsets where it under-reads less. The
// strength is found by halving, on block levels only.
func (p *plan) shape(l *levels, under float64) []float32 {
	gain := ones(len(l.mean))
	read, top := l.deflection(gain), l.highest(gain)
	if read <= 0 || top <= 0 {
		return gain
	}
	now := audio.DB(top / read)
	at := l.compressor(top, p.raw)
	if now < under {
		at = l.lifter(read)
	}
	set := func(strength float64) {
		for i := range gain {
			gain[i] = float32(math.Exp(at(i, strength)))
		}
	}
	// Halve four times, then go by straight lines: the result moves smoothly
	// with the levels, so that it does not hang on their last bits.
	try := func(strength float64) float64 {
		p.pause()
		set(strength)
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
	set(lo + (hi-lo)*flo/(flo-fhi))
	return gain
}

// compressor returns the gain, as its logarithm, that a compressor has in a block at a
// strength. It brings all levels together, down to 36 dB below the highest, and in its
// upper half, on finished sound, a limiter's behind it. Strength 0 does nothing; at 1
// distances are down to a seventh of theirs, and of what then stands above 9 dB below the
// highest a half is left. Not less, so that strokes keep apart: where all are equally
// high, a lamp goes from dark to lit in one step, which no real source does. It looks one
// block ahead and recovers in 80 ms.
func (l *levels) compressor(top float64, raw bool) func(block int, strength float64) float64 {
	m := len(l.peak)
	below := make([]float64, m) // the highest, dB
	floor := float32(top * audio.Gain(-36))
	release := float32(1 - math.Exp(-float64(block)/(0.08*audio.Rate)))
	high := float32(0)
	for i := -60; i < m; i++ {
		j := (i + m) % m
		v := max(l.peak[(j+m-1)%m], l.peak[j], l.peak[(j+1)%m], floor)
		high += release * (v - high)
		high = max(high, v)
		below[j] = audio.DB(top / float64(high))
	}
	return func(block int, strength float64) float64 {
		limit := 9 * max(0, strength-0.5) / 0.5 // dB
		if raw {
			limit = 0
		}
		db := below[block] * 0.85 * strength
		if over := limit - (below[block] - db); over > 0 {
			db -= 0.5 * over
		}
		return db * (math.Ln10 / 20)
	}
}

// lifter is the same of a lift of what stands out of the level around it: strength 0 does
// nothing, 1 doubles in dB how far an onset stands out.
func (l *levels) lifter(read float64) func(block int, strength float64) float64 {
	m := len(l.peak)
	out := make([]float64, m) // by how much a block stands out, as a logarithm
	slow := float32(1 - math.Exp(-float64(block)/(0.12*audio.Rate)))
	s := float32(0)
	floor := float32(read * 0.1)
	for i := -150; i < m; i++ {
		j := (i + m) % m
		v := l.peak[j]
		out[j] = math.Log(float64(max(1, v/max(s, floor))))
		s += slow * (v - s)
	}
	return func(block int, strength float64) float64 { return out[block] * strength }
}
