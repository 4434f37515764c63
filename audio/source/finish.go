package source

import (
	"math"

	"slowneedle/audio"
)

// finish turns what was played into the sound: rests, a take's form, then the
// shaping towards the under-read aimed at (0: none), then wander, which shaping
// would level out, room tone, and the peak at PeakDBFS. All gains are one smooth
// curve in steps of a block, joined by straight lines, so nothing is clipped and
// the loop stays seamless.
func (p *plan) finish(channels [][]float32, under float64) {
	m := len(channels[0]) / block
	l := p.levels(channels)
	curve, rests := p.wander(m), p.quiet(m)
	p.form(rests, p.parts)
	for i, g := range rests {
		curve[i] *= g
		l.mean[i] *= g
		l.peak[i] *= g
	}
	if under > 0 {
		for i, g := range p.shape(l, under) {
			curve[i] *= g
			l.peak[i] *= g
		}
	}
	if p.take && len(p.parts) > 0 {
		shaped := make([]float32, m)
		for i := range shaped {
			shaped[i] = 1
		}
		p.growth(l, shaped)
		for i, g := range shaped {
			curve[i] *= g
			l.peak[i] *= g
		}
	}
	// Room tone lies so far below the peak, as RMS.
	below := p.between(63, 70)
	switch {
	case p.steady:
		below = 80
	case p.raw:
		below = p.between(55, 62)
	}
	tone := l.highest(nil) * audio.Gain(-below)
	var top float32
	tops := make([]float32, 2*len(channels))
	var todo []func()
	for c, x := range channels {
		n := p.noise()
		for h := range 2 {
			todo = append(todo, func() {
				for b := h * m / 2; b < (h+1)*m/2; b += slice {
					to := min(b+slice, (h+1)*m/2)
					tops[2*c+h] = max(tops[2*c+h], apply(x, curve, b, to, n, tone))
					p.pause()
				}
			})
		}
	}
	p.together(todo...)
	for _, t := range tops {
		top = max(top, t)
	}
	if top == 0 {
		return
	}
	g := float32(audio.Gain(PeakDBFS) / float64(top))
	todo = nil
	for _, x := range channels {
		for _, half := range [][]float32{x[:m/2*block], x[m/2*block:]} {
			todo = append(todo, func() { scale(half, g) })
		}
	}
	p.together(todo...)
}

// slice is how many blocks are worked on between two pauses.
const slice = 512

// apply multiplies blocks from..to of x by the curve, whose values stand at the
// blocks' middles, adds noise of an RMS, and returns the highest magnitude. n is the
// noise at the start of x; that of the room falls by 6 dB an octave above 600 Hz.
func apply(x, curve []float32, from, to int, n noise, rms float64) float32 {
	const warm, low = 128, 0.08
	g := float32(rms * math.Sqrt(3*(2-low)/low)) // white noise from -1 to 1 has an RMS of sqrt(1/3)
	m := len(curve)
	before := n.skip(from*block - warm)
	if from == 0 {
		before = n.skip(m*block - warm) // so that the loop closes
	}
	var y float32
	for range warm {
		y += low * (before.next32() - y)
	}
	n = n.skip(from * block)
	var top uint32
	for b := from; b < to; b++ {
		s := x[b*block : (b+1)*block]
		prev, here, next := curve[(b+m-1)%m], curve[b], curve[(b+1)%m]
		level, step := (prev+here)/2, (here-prev)/block
		for i, v := range s {
			if i == block/2 {
				level, step = here, (next-here)/block
			}
			y += low * (n.next32() - y)
			v = float32(v*level) + float32(g*y)
			s[i] = v
			level += step
			top = max(top, magnitudeBits(v))
		}
	}
	return math.Float32frombits(top)
}

// wander draws the slow gains: the difficulty's wander, and swells, of steady sounds
// by the difficulty and of raw plucked ones by the hand.
func (p *plan) wander(m int) []float32 {
	c := make([]float32, m)
	// Wander: three slow waves that fit the length.
	var amp, ph [3]float64
	for i := range amp {
		amp[i] = p.bell() / 2
		ph[i] = p.between(0, 2*math.Pi)
	}
	amp[0] += math.Copysign(0.7, amp[0])
	// Swells: one value every half second, joined smoothly.
	k := int(math.Round(float64(m) * block / audio.Rate * 2))
	swell := make([]float64, k)
	depth := p.swell
	if p.steady {
		depth = 1.8 * p.d.Irregular
	}
	for i := range swell {
		swell[i] = depth * p.bell()
	}
	for i := range c {
		t := float64(i) / float64(m)
		db := 0.0
		if p.d.Wander > 0 {
			for j := range amp {
				db += amp[j] * math.Sin(2*math.Pi*float64(j+1)*t+ph[j])
			}
			db *= 2 * p.d.Wander
		}
		if depth > 0 {
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

// form fills in the levels of the parts of a take, which go over into one another
// within half a second.
func (p *plan) form(curve []float32, parts []part) {
	for i := range curve {
		t := float64(i*block) / audio.Rate
		db := 0.0
		for j, part := range parts {
			before := 0.0
			if j > 0 {
				before = parts[j-1].db
			}
			db += (part.db - before) * min(1, max(0, 2*(t-float64(part.at)/audio.Rate)))
		}
		curve[i] *= float32(audio.Gain(db))
	}
}

// growth draws by how many dB a take peaks higher after its first 12 s than in
// them, and brings what follows there. Recordings grow by 1.1 dB in the median and 3.3 dB at the 90th
// percentile, voices by 1.2 and 2.5 (testdata/sources/growth.csv).
func (p *plan) growth(l *levels, gain []float32) {
	want := 1.1 + 1.7*p.bell()
	if p.speech {
		want = 1.2 + p.bell()
	}
	var first, later float32
	cut := p.parts[0].at / block
	for i, v := range l.peak {
		if v *= gain[i]; i < cut {
			first = max(first, v)
		} else {
			later = max(later, v)
		}
	}
	if first == 0 || later == 0 {
		return
	}
	db := max(-6, min(6, want-audio.DB(float64(later/first))))
	p.form(gain, []part{{p.parts[0].at, db}})
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
