package source

import (
	"math"
	"slices"

	"slowneedle/audio"
)

// finish turns what was played into the sound: rests, a take's form, then the
// shaping towards the under-read aimed at (0: none), then wander, which shaping
// would level out, room tone, and the peak at PeakDBFS. All gains are one smooth
// curve in steps of a block, joined by straight lines, so nothing is clipped and
// the loop stays seamless.
func (p *plan) finish(channels [][]float32, under float64) {
	l := p.levels(channels)
	curve := p.wander(len(l.peak))
	with := func(gain []float32) {
		for i, g := range gain {
			curve[i] *= g
			l.mean[i] *= g
			l.peak[i] *= g
		}
	}
	rests := p.quiet(len(curve))
	p.form(rests, p.parts)
	with(rests)
	if under > 0 {
		with(p.shape(l, under))
	}
	if len(p.parts) > 0 {
		with(p.growth(l))
	}
	// Room tone lies so far below the peak, as RMS.
	below := p.between(63, 70)
	switch {
	case p.steady:
		below = 80
	case p.raw:
		below = p.between(55, 62)
	}
	tone := float64(slices.Max(l.peak)) * audio.Gain(-below)
	tops := make([]float32, len(channels))
	var todo []func()
	for c, x := range channels {
		n := p.noise()
		todo = append(todo, func() { tops[c] = p.apply(x, curve, n, tone) })
	}
	p.together(todo...)
	top := slices.Max(tops)
	if top == 0 {
		return
	}
	for _, x := range channels {
		scale(x, float32(audio.Gain(PeakDBFS)/float64(top)))
		p.pause()
	}
}

// slice is how many blocks are worked on between two pauses.
const slice = 512

// apply multiplies x by the curve, whose values stand at the blocks' middles, adds noise
// of an RMS, and returns the highest magnitude. The noise is that of a room: it falls by
// 6 dB an octave above 600 Hz.
func (p *plan) apply(x, curve []float32, n noise, rms float64) float32 {
	const warm, low = 128, 0.08
	g := float32(rms * math.Sqrt(3*(2-low)/low)) // white noise from -1 to 1 has an RMS of sqrt(1/3)
	var y float32
	before := n.skip(len(x) - warm) // so that the loop closes
	for range warm {
		y = float32(low*float32(before.next())) + float32((1-low)*y)
	}
	m := len(curve)
	var top uint32
	for b, here := range curve {
		if b%slice == 0 {
			p.pause()
		}
		s := x[b*block : (b+1)*block]
		prev, next := curve[(b+m-1)%m], curve[(b+1)%m]
		level, step := (prev+here)/2, (here-prev)/block
		for i, v := range s {
			if i == block/2 {
				level, step = here, (next-here)/block
			}
			y = float32(low*float32(n.next())) + float32((1-low)*y)
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
	c := ones(m)
	if p.d.Wander == 0 && depth == 0 {
		return c
	}
	for i := range c {
		t := float64(i) / float64(m)
		db := 0.0
		for j := range amp {
			db += amp[j] * math.Sin(2*math.Pi*float64(j+1)*t+ph[j])
		}
		db *= 2 * p.d.Wander
		s := t * float64(k)
		j := int(s)
		w := (1 - math.Cos(math.Pi*(s-float64(j)))) / 2
		db += swell[j%k]*(1-w) + swell[(j+1)%k]*w
		c[i] = float32(audio.Gain(db))
	}
	return c
}

// form fills in the levels of the parts of a take, which go over into one another
// within half a second.
func (p *plan) form(curve []float32, parts []part) {
	for i := range curve {
		t := float64(i*block) / audio.Rate
		db, before := 0.0, 0.0
		for _, part := range parts {
			db += (part.db - before) * min(1, max(0, 2*(t-float64(part.at)/audio.Rate)))
			before = part.db
		}
		curve[i] *= float32(audio.Gain(db))
	}
}

// growths are the deciles, from the least to the highest, of how many dB the minute after
// 12 s of a recording peaks higher than those 12 s (testdata/sources/growth.csv: 188
// windows of nine speakers; 246 of thirteen pieces and eight guitars).
var growths = map[bool][11]float64{
	true:  {-2.22, -0.26, 0.04, 0.13, 0.41, 0.78, 1.11, 1.48, 2.25, 3.15, 5.94}, // voices
	false: {-4.66, -0.12, 0.02, 0.11, 0.31, 0.53, 0.74, 1.01, 1.57, 2.95, 7.79},
}

// Growth is by how many dB a recording, of a voice or of music, peaks higher in the minute
// after 12 s than in them: what a share of recordings from 0 to 1 does not exceed.
func Growth(voice bool, share float64) float64 {
	all := growths[voice]
	at := min(share*10, 9.999)
	i := int(at)
	return all[i] + float64((at-float64(i))*(all[i+1]-all[i]))
}

// growth draws where among recordings the growth of a take lies, and returns the gains
// that bring what follows its first part there.
func (p *plan) growth(l *levels) []float32 {
	gain := ones(len(l.peak))
	want := Growth(p.speech, p.rng.Float64())
	from := p.parts[0].at / block
	first, later := slices.Max(l.peak[:12*audio.Rate/block]), slices.Max(l.peak[from:])
	if first > 0 && later > 0 {
		db := max(-6, min(6, want-audio.DB(float64(later/first))))
		p.form(gain, []part{{p.parts[0].at, db}})
	}
	return gain
}

// ones is gains that change nothing.
func ones(n int) []float32 { return slices.Repeat([]float32{1}, n) }

// quiet is the gains of the rests. Speech has its own.
func (p *plan) quiet(m int) []float32 {
	c := ones(m)
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
