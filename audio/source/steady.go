package source

import (
	"math"

	"slowneedle/audio"
)

// steadyKinds: sounds that hold. A sine under-reads by exactly 0 dB; what
// beats or rustles under-reads more.
func steadyKinds() []kind {
	return []kind{
		{"tone", 4, 0, 0, 0, 0, tone},
		{"held pipe", 3, 0, 0, 0, 0, heldPipe},
		{"bowed note", 3, 0, 0, 0, 0, bowedNote},
		{"organ chord", 2, 0, 0, 0, 0, organChord},
		{"pink noise", 2, 0, 0, 0, 0, pinkNoise},
	}
}

// tone: a sine of a whole number of cycles.
func tone(p *plan) []float32 {
	p.length(p.between(10, 15.9))
	hz := 55 * math.Exp2(p.between(0, 5.5))
	cycles := math.Round(hz * float64(p.n) / audio.Rate)
	x := make([]float32, p.n)
	w := 2 * math.Pi * cycles / float64(p.n)
	ph := p.between(0, 2*math.Pi)
	// A turning pointer, set right again every block.
	c, s := math.Cos(w), math.Sin(w)
	for b := 0; b < len(x); b += block {
		re, im := math.Cos(w*float64(b)+ph), math.Sin(w*float64(b)+ph)
		for i := b; i < b+block; i++ {
			x[i] = float32(im)
			re, im = re*c-im*s, re*s+im*c
		}
	}
	switch {
	case hz < 200:
		p.manner = "low"
	case hz < 800:
		p.manner = "middle"
	default:
		p.manner = "high"
	}
	return x
}

// wave is one cycle of a sound with harmonics.
type wave [2049]float32

func harmonics(amp []float64, phase func(k int) float64) *wave {
	var w wave
	acc := make([]float64, 2048)
	for k, a := range amp {
		d := 2 * math.Pi * float64(k+1) / 2048
		c := 2 * math.Cos(d)
		ph := phase(k + 1)
		y1, y2 := math.Sin(ph-d), math.Sin(ph-2*d)
		for i := range acc {
			y := c*y1 - y2
			acc[i] += a * y
			y1, y2 = y, y1
		}
	}
	for i, v := range acc {
		w[i] = float32(v)
	}
	w[2048] = w[0]
	return &w
}

// sing adds a wave at about hz to the loop, with vibrato; it fits the loop.
func (p *plan) sing(x []float32, w *wave, hz, depth, rate, level float64) {
	n := float64(len(x))
	cycles := math.Round(hz * n / audio.Rate)
	turns := math.Round(rate * n / audio.Rate)
	base := cycles * 2048 / n
	ph := 2048 * p.rng.Float64()
	vib := p.between(0, 2*math.Pi)
	for b := 0; b < len(x); b += block {
		// The vibrato is a swing of the phase itself, so that it closes.
		a0 := depth * hz / rate / (2 * math.Pi) * 2048 * 2 * math.Pi
		sw := func(i int) float64 {
			return ph + base*float64(i) + a0/(2*math.Pi)*math.Sin(2*math.Pi*turns*float64(i)/n+vib)
		}
		at := math.Mod(sw(b)+4096, 2048)
		step := (sw(b+block) - sw(b)) / block
		g := float32(level)
		for i := b; i < b+block; i++ {
			k := int(at)
			f := float32(at - float64(k))
			k &= 2047
			v := w[k]
			x[i] += g * (v + f*(w[k+1]-v))
			at += step
		}
	}
}

// heldPipe: one or two soft pipes with little above the fundamental.
func heldPipe(p *plan) []float32 {
	x := make([]float32, p.n)
	amp := []float64{1, p.between(0.05, 0.3), p.between(0.05, 0.2), 0.05 * p.bright, 0.04 * p.bright}
	w := harmonics(amp, func(int) float64 { return p.between(0, 2*math.Pi) })
	p.sing(x, w, p.pick(1, 2, 4)*p.degree(p.rng.IntN(7)), 0.0015, p.between(3, 6), 1)
	p.air(x, 0.012)
	return x
}

// air adds soft breath-like noise of a level to the loop.
func (p *plan) air(x []float32, level float64) {
	n := p.noise()
	start := n
	var b band
	b.tune(p.between(1200, 3000), 1500)
	g := level * 8
	// The same noise twice over: the first time only to swing the filter in.
	n = start
	warm := make([]float64, 0)
	_ = warm
	for i := range x {
		x[i] += float32(g * b.next(n.next()))
	}
}

// bowedNote: a saw-like wave with a wood's resonances, one or two strings.
func bowedNote(p *plan) []float32 {
	x := make([]float32, p.n)
	hz := p.pick(0.5, 1, 2) * p.degree(p.rng.IntN(7))
	play := func(hz, level float64) {
		count := min(40, int(9000/hz))
		amp := make([]float64, count)
		f1, f2 := p.between(350, 550), p.between(900, 1400)
		for k := range amp {
			f := hz * float64(k+1)
			body := 0.4 + math.Exp(-sq((f-f1)/250)) + 0.6*math.Exp(-sq((f-f2)/500))
			amp[k] = body / float64(k+1) / (1 + sq(f/(2500+4000*p.bright)))
		}
		p.sing(x, harmonics(amp, func(k int) float64 { return 0 }), hz, p.between(0.002, 0.006), p.between(4.5, 6), level)
	}
	play(hz, 1)
	p.manner = "one string"
	if p.chance(0.3) {
		p.manner = "two strings"
		play(hz*1.5, 0.5)
	}
	p.air(x, 0.03)
	return x
}

func sq(v float64) float64 { return v * v }

// organChord: three or four pipes of a triad, unequally loud.
func organChord(p *plan) []float32 {
	x := make([]float32, p.n)
	root := p.rng.IntN(6)
	steps := []int{root, root + 4, root + 9, root + 2}[:3+p.rng.IntN(2)]
	level := 1.0
	for _, s := range steps {
		w := harmonics([]float64{1, p.between(0.2, 0.6), 0.15 * p.rng.Float64(), p.between(0, 0.25)}, func(int) float64 { return p.between(0, 2*math.Pi) })
		p.sing(x, w, p.degree(s), 0.001, p.between(4, 6.5), level)
		level *= p.between(0.5, 0.75)
	}
	p.air(x, 0.01)
	return x
}

// pinkNoise: noise that falls by 3 dB an octave (three poles after P. Kellet,
// from memory).
func pinkNoise(p *plan) []float32 {
	p.length(p.between(10, 13))
	x := make([]float32, p.n)
	n := p.noise()
	var b0, b1, b2 float64
	for i := range x {
		w := n.next()
		b0 = 0.99765*b0 + w*0.0990460
		b1 = 0.96300*b1 + w*0.2965164
		b2 = 0.57000*b2 + w*1.0526913
		x[i] = float32(b0 + b1 + b2 + w*0.1848)
	}
	return x
}
