package source

import "math"

// drum renders a skin: a sweeping low tone, held for 30 ms and then dying away.
func (p *plan) drum(seconds, from, to, sweep, t60, amp float64) []float32 {
	x := p.rough(frames(seconds))
	t := sineTable()
	ph := 0.0
	g, r := amp, decay(t60)
	extra, fall := from-to, decay(sweep)
	hold := frames(0.03)
	for i := range x {
		ph += (to + extra) * (sineSize / 48000.0)
		if ph >= sineSize {
			ph -= sineSize
		}
		k := int(ph)
		a := float64(t[k])
		x[i] = float32(g * (a + float64((ph-float64(k))*(float64(t[k+1])-a))))
		if i > hold {
			g *= r
		}
		extra *= fall
	}
	fade(x, frames(0.01))
	return x
}

// hiss adds a burst of band-passed noise with a soft start, held for a tenth of
// its time before it dies away.
func (p *plan) hiss(x []float32, hz, width, attack, t60, amp float64) {
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

// metal adds inharmonic high modes, as plates and jingles have.
func (p *plan) metal(x []float32, count int, lo, hi, t60, amp float64) {
	modes := make([]mode, count)
	for i := range modes {
		f := lo * math.Pow(hi/lo, p.rng.Float64())
		modes[i] = mode{f, t60 * p.between(0.4, 1), amp * p.between(0.3, 1) / math.Sqrt(float64(count))}
	}
	ring(x, modes...)
}

// room puts a hit into a small room: a few early echoes and a dying tail.
func (p *plan) room(dry []float32) []float32 {
	t60 := p.between(0.3, 0.7)
	wet := p.scratch(len(dry) + frames(t60))
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
