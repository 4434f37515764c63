package source

import (
	"math"

	"slowneedle/audio"
)

// finish turns a raw loop into the sound: rests, then the peak shaping towards
// the under-read aimed at (0: none), then wander, which shaping would level out,
// then the peak to PeakDBFS. Everything happens as one smooth gain curve in steps of a block,
// joined by straight lines, so nothing is clipped and the loop stays seamless.
func (p *plan) finish(x []float32, under float64) {
	m := len(x) / block
	l := levels{mean: make([]float32, m), peak: make([]float32, m)}
	half := m / 2
	together(
		func() { l.measure(x, 0, half) },
		func() { l.measure(x, half, m) },
	)
	curve, rests := p.wander(m), p.quiet(m)
	for i, g := range rests {
		curve[i] *= g
		l.mean[i] *= g
		l.peak[i] *= g
	}
	if under > 0 {
		shape := l.shape(under)
		for i, g := range shape {
			curve[i] *= g
		}
	}
	var top [2]float32
	together(
		func() { top[0] = apply(x, curve, 0, half) },
		func() { top[1] = apply(x, curve, half, m) },
	)
	if t := max(top[0], top[1]); t > 0 {
		g := float32(audio.Gain(PeakDBFS) / float64(t))
		together(
			func() { scale(x[:half*block], g) },
			func() { scale(x[half*block:], g) },
		)
	}
}

// apply multiplies blocks from..to of x by the curve, whose values stand at the
// blocks' middles, and returns the highest magnitude.
func apply(x []float32, curve []float32, from, to int) float32 {
	const sign = 1 << 31
	var t0, t1 uint32
	m := len(curve)
	for b := from; b < to; b++ {
		s := x[b*block : (b+1)*block]
		prev, here, next := curve[(b+m-1)%m], curve[b], curve[(b+1)%m]
		g, step := (prev+here)/2, (here-prev)/block
		for h := s[:block/2]; len(h) >= 2; h = h[2:] {
			v0, v1 := h[0]*g, h[1]*(g+step)
			h[0], h[1] = v0, v1
			g += 2 * step
			t0, t1 = max(t0, math.Float32bits(v0)&^sign), max(t1, math.Float32bits(v1)&^sign)
		}
		g, step = here, (next-here)/block
		for h := s[block/2:]; len(h) >= 2; h = h[2:] {
			v0, v1 := h[0]*g, h[1]*(g+step)
			h[0], h[1] = v0, v1
			g += 2 * step
			t0, t1 = max(t0, math.Float32bits(v0)&^sign), max(t1, math.Float32bits(v1)&^sign)
		}
	}
	return math.Float32frombits(max(t0, t1))
}

// wander draws the slow gains of the difficulty: wander and, for steady sounds,
// swells.
func (p *plan) wander(m int) []float32 {
	c := make([]float32, m)
	// Wander: three slow waves that fit the loop.
	var amp, ph [3]float64
	for i := range amp {
		amp[i] = p.bell() / 2
		ph[i] = p.between(0, 2*math.Pi)
	}
	amp[0] += math.Copysign(0.7, amp[0])
	// Swells: one value every half second, joined smoothly.
	k := int(math.Round(float64(m) * block / audio.Rate * 2))
	swell := make([]float64, k)
	for i := range swell {
		swell[i] = 3.5 * p.d.Irregular * p.bell()
	}
	for i := range c {
		t := float64(i) / float64(m)
		db := 0.0
		if p.d.Wander > 0 {
			for j := range amp {
				db += amp[j] * math.Sin(2*math.Pi*float64(j+1)*t+ph[j])
			}
			db *= 4 * p.d.Wander
		}
		if p.steady && p.d.Irregular > 0 {
			s := t * float64(k)
			j := int(s)
			w := (1 - math.Cos(math.Pi*(s-float64(j)))) / 2
			db += swell[j%k]*(1-w) + swell[(j+1)%k]*w
		}
		c[i] = 1
		if db != 0 {
			c[i] = float32(audio.Gain(db))
		}
	}
	return c
}

// quiet is the gains of the rests. Speech has its own.
func (p *plan) quiet(m int) []float32 {
	c := make([]float32, m)
	for i := range c {
		c[i] = 1
	}
	if p.speech {
		return c
	}
	// Rests: down within 150 ms of their start, up again in 10 ms at the end.
	const down, up = 0.15 * audio.Rate / block, 0.01 * audio.Rate / block
	for _, r := range p.rests {
		from, n := r.at/block, r.n/block
		for i := range n {
			g := max(1-float64(i)/down, 1-float64(n-1-i)/up, 0)
			c[(from+i)%m] *= float32(g * g)
		}
	}
	return c
}
