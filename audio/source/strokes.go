package source

import (
	"math"
	"slices"

	"slowneedle/audio"
)

// layer is one ingredient of a stroke, added to it.
type layer func(p *plan, x []float32)

// stroke renders a stroke of layers on each other, in their order, the last so many
// frames faded out.
func (p *plan) stroke(seconds float64, out int, layers ...layer) []float32 {
	x := make([]float32, frames(seconds))
	for _, l := range layers {
		l(p, x)
		p.pause()
	}
	fade(x, out)
	return x
}

// skin is a sweeping low tone, held for 30 ms and then dying away.
func skin(from, to, sweep, t60, amp float64) layer {
	return func(_ *plan, x []float32) {
		ph := 0.0
		g, r := amp, decay(t60)
		extra, fall := from-to, decay(sweep)
		hold := frames(0.03)
		for i := range x {
			ph += (to + extra) * (sineSize / 48000.0)
			if ph >= sineSize {
				ph -= sineSize
			}
			x[i] = float32(g * sine(ph))
			if i > hold {
				g *= r
			}
			extra *= fall
		}
		fade(x, frames(0.01))
	}
}

// mode is one way a body rings: a sine that dies away.
type mode struct {
	hz, t60 float64 // frequency, time to fall by 60 dB
	amp     float64
}

// modes rings them four at a time, so that the processor works on some while it waits
// for the others.
func modes(all ...mode) layer {
	return func(_ *plan, x []float32) {
		for four := range slices.Chunk(all, 4) {
			ring(x, four)
		}
	}
}

// ring adds up to four modes to x.
func ring(x []float32, modes []mode) {
	var start, p, q [4]float64
	long := 0.0
	for i, m := range modes {
		r := decay(m.t60)
		w := 2 * math.Pi * min(m.hz, 0.45*audio.Rate) / audio.Rate
		start[i], p[i], q[i] = -m.amp/r*math.Sin(w), 2*r*math.Cos(w), -r*r
		long = max(long, m.t60)
	}
	x = x[:min(len(x), frames(1.2*long))]
	var a, b, c, d float64
	a1, b1, c1, d1 := start[0], start[1], start[2], start[3]
	for i := range x {
		x[i] += float32(a + b + c + d)
		a, a1 = p[0]*a+q[0]*a1, a
		b, b1 = p[1]*b+q[1]*b1, b
		c, c1 = p[2]*c+q[2]*c1, c
		d, d1 = p[3]*d+q[3]*d1, d
	}
}

// hiss is a burst of band-passed noise with a soft start, held for a tenth of its time
// before it dies away.
func hiss(hz, width, attack, t60, amp float64) layer {
	return func(p *plan, x []float32) {
		var b, c band
		b.tune(hz, width)
		c.tune(hz*1.7, width)
		n := p.noise()
		g, r := amp*math.Sqrt(24000/width), decay(t60)
		up, a := 0.0, 1/(attack*48000+1)
		hold := frames(0.1 * t60)
		x = x[:min(len(x), frames(1.1*t60+attack))]
		for i := range x {
			up = min(1, up+a)
			v := n.next()
			x[i] += float32(g * up * (b.next(v) + float64(0.6*c.next(v))))
			if i > hold {
				g *= r
			}
		}
	}
}

// metal is inharmonic high modes, as plates and jingles have: six times as many as are
// drawn, for where they are few, each is heard as a tone.
func metal(count int, lo, hi, t60, amp float64) layer {
	return func(p *plan, x []float32) {
		const each = 6
		var all []mode
		for range count {
			u := p.rng.Float64()
			m := mode{t60: t60 * p.between(0.4, 1), amp: amp * p.between(0.3, 1) / math.Sqrt(float64(each*count))}
			for i := range each {
				_, place := math.Modf(u + float64(i)*math.Phi)
				m.hz, m.amp = lo*math.Pow(hi/lo, place), -m.amp // half of them up first, half down
				all = append(all, m)
			}
		}
		modes(all...)(p, x)
	}
}

// room puts a hit into a small room: a few early echoes and a dying tail.
func (p *plan) room(dry []float32) []float32 {
	t60 := p.between(0.3, 0.7)
	wet := make([]float32, len(dry)+frames(t60))
	copy(wet, dry)
	for i := range 14 {
		t := 0.007 + 0.021*float64(i)*p.between(0.7, 1.2)
		g := 0.3 * math.Pow(10, -3*t/t60)
		if p.chance(0.5) {
			g = -g
		}
		at := frames(t)
		if at+len(dry) <= len(wet) {
			add(wet, dry, at, float32(g))
		}
	}
	fade(wet, frames(0.1))
	return wet
}
