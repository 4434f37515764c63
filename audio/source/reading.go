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
// gains given (nil: none), as an amplitude.
func (l *levels) deflection(gain []float32) float64 {
	course := make([]float64, len(l.mean))
	for i, v := range l.mean {
		if gain != nil {
			v *= gain[i]
		}
		course[i] = float64(v)
	}
	return meter.ReadMeans(course, float64(block)/audio.Rate)
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

// shape returns the gains that bring a sound to an under-read in dB: a compressor
// where it under-reads more, a lift of the onsets where it under-reads less. The
// strength is found by halving, on block levels only.
func (p *plan) shape(l *levels, under float64) []float32 {
	gain := ones(len(l.mean))
	read, top := l.deflection(nil), l.highest(nil)
	if read <= 0 || top <= 0 {
		return gain
	}
	now := audio.DB(top / read)
	set := l.compress
	if now < under {
		set = l.lift
	}
	// Halve four times, then go by straight lines: the result moves smoothly
	// with the levels, so that it does not hang on their last bits.
	try := func(strength float64) float64 {
		p.pause()
		set(gain, strength, top, read, p.raw)
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
	set(gain, lo+(hi-lo)*flo/(flo-fhi), top, read, p.raw)
	return gain
}

// compress fills gain with a compressor's that brings all levels together, down to
// 36 dB below the highest, and in its upper half, on finished sound, a limiter's
// behind it. Strength 0 does nothing; at 1 distances are down to a seventh of
// theirs, and of what then stands above 9 dB below the highest a half is left. Not less, so
// that strokes keep apart: where all are equally high, a lamp goes from dark to lit
// in one step, which no real source does. It looks one block ahead and recovers in
// 80 ms.
func (l *levels) compress(gain []float32, strength, top, _ float64, raw bool) {
	m := len(gain)
	floor := float32(top * audio.Gain(-36))
	release := float32(1 - math.Exp(-float64(block)/(0.08*audio.Rate)))
	ratio := 0.85 * strength
	limit := 9 * max(0, strength-0.5) / 0.5 // dB
	if raw {
		limit = 0
	}
	high := float32(0)
	for i := -60; i < m; i++ {
		j := (i + m) % m
		v := max(l.peak[(j+m-1)%m], l.peak[j], l.peak[(j+1)%m], floor)
		high += release * (v - high)
		high = max(high, v)
		if i >= 0 {
			below := audio.DB(top / float64(high))
			db := below * ratio
			if over := limit - (below - db); over > 0 {
				db -= 0.5 * over
			}
			gain[j] = float32(audio.Gain(db))
		}
	}
}

// lift fills gain with a lift of what stands out of the level around it:
// strength 0 does nothing, 1 doubles in dB how far an onset stands out.
func (l *levels) lift(gain []float32, strength, _, read float64, _ bool) {
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
