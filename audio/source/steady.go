package source

import (
	"math"

	"slowneedle/audio"
)

// steadyKinds: sounds that hold. A sine under-reads by exactly 0 dB; a pipe
// with little above its fundamental by 1 to 2, a bowed note by 3 to 6, a chord
// of pipes, whose notes now and then peak together, by about 6, pink noise by 9
// to 10. Nothing is shaped here: the family's median, between 0 and 3 dB,
// follows from how often each kind is drawn.
var steadyKinds = []kind{
	{name: "tone", weight: 4, seconds: [2]float64{10, 13.5}, make: tone},
	{name: "held organ pipe", weight: 4, make: heldPipe},
	{name: "bowed notes", weight: 3, make: bowedNotes},
	{name: "organ chords", weight: 2, make: organChords},
	{name: "pink noise", weight: 2, seconds: [2]float64{10, 13}, make: pinkNoise},
	{name: "reed notes", weight: 2, reserved: true, make: reedNotes},
	{name: "brown noise", weight: 1, reserved: true, seconds: [2]float64{10, 13}, make: brownNoise},
}

// tone: a sine of a whole number of cycles.
func tone(p *plan, x []float32) {
	hz := 55 * math.Exp2(p.between(0, 5.5))
	cycles := 2*math.Round(hz*float64(p.n)/audio.Rate/2) + 1 // odd: every phase of the crest comes
	p.trace(x, harmonics([]float64{1}, noPhase), held{hz: cycles / float64(p.n) * audio.Rate, level: 1, rate: 1}, p.rng.Float64(), 0)
	p.manner = "high"
	switch {
	case hz < 200:
		p.manner = "low"
	case hz < 800:
		p.manner = "middle"
	}
}

// wave is one cycle of a sound with harmonics; its last point repeats the
// first.
type wave [waveSize + 1]float32

const (
	waveBits = 11
	waveSize = 1 << waveBits
)

// harmonics draws a wave from the amplitudes and phases of its harmonics.
func harmonics(amp []float64, phase func() float64) *wave {
	var w wave
	var acc [waveSize]float64
	for k, a := range amp {
		d := 2 * math.Pi * float64(k+1) / waveSize
		c := 2 * math.Cos(d)
		ph := phase()
		y1, y2 := a*math.Sin(ph-d), a*math.Sin(ph-2*d)
		for i := range acc {
			y := c*y1 - y2
			acc[i] += y
			y1, y2 = y, y1
		}
	}
	for i, v := range acc {
		w[i] = float32(v)
	}
	w[waveSize] = w[0]
	return &w
}

func (p *plan) anyPhase() float64 { return p.between(0, 2*math.Pi) }

func noPhase() float64 { return 0 }

// held is how a wave is sung on one pitch.
type held struct {
	hz, level float64
	depth     float64 // of the vibrato, relative
	rate      float64 // of the vibrato, hertz
	rise      float64 // seconds the note takes to come in and to go
}

// sing adds a wave to x from end to end, both it and its vibrato at any phase. With
// no rise it is made to fit, so that it loops.
func (p *plan) sing(x []float32, w *wave, h held) { p.trace(x, w, h, p.rng.Float64(), p.anyPhase()) }

// trace is sing with the wave's phase given, in cycles, and the vibrato's, in radians.
func (p *plan) trace(x []float32, w *wave, h held, start, vib float64) {
	n := float64(len(x))
	cycles, turns := h.hz*n/audio.Rate, h.rate*n/audio.Rate
	if h.rise == 0 {
		cycles, turns = math.Round(cycles), math.Round(turns)
	}
	// The vibrato is a swing of the phase itself, in cycles, so that it closes.
	swing := h.depth * h.hz / h.rate / (2 * math.Pi)
	at := func(i int) float64 {
		t := float64(i) / n
		return start + cycles*t + swing*math.Sin(2*math.Pi*turns*t+vib)
	}
	rise := h.rise * audio.Rate
	here := at(0)
	for b := 0; b < len(x); b += block {
		if b%(slice*block) == 0 {
			p.pause()
		}
		e := min(b+block, len(x))
		next := at(e)
		ph := uint32(int64((here - math.Floor(here)) * (1 << 32)))
		step := uint32(int64((next - here) / float64(e-b) * (1 << 32)))
		here = next
		g, dg := float32(h.level), float32(0)
		if rise > 0 {
			lo := min(1, float64(b)/rise, (n-float64(b))/rise)
			hi := min(1, float64(e)/rise, (n-float64(e))/rise)
			g, dg = float32(h.level*lo), float32(h.level*(hi-lo)/float64(e-b))
		}
		const rest = 32 - waveBits
		for i := range x[b:e] {
			k := ph >> rest
			v := w[k]
			f := float32(ph&(1<<rest-1)) * (1.0 / (1 << rest))
			x[b+i] += g * (v + f*(w[k+1]-v))
			ph += step
			g += dg
		}
	}
}

// heldPipe: one soft pipe with little above the fundamental.
func heldPipe(p *plan, x []float32) {
	amp := []float64{1, p.between(0.04, 0.3), p.between(0.04, 0.2), 0.05 * p.bright, 0.04 * p.bright}
	p.sing(x, harmonics(amp, p.anyPhase), held{
		hz: p.pick(1, 2, 4) * p.degree(p.rng.IntN(7)), level: 1, depth: 0.0015, rate: p.between(3, 6)})
	p.air(x, 0.1)
	p.manner = one(p.bright, "dark", "bright")
}

// air adds soft breath-like noise to the loop.
func (p *plan) air(x []float32, level float64) {
	var b band
	b.tune(p.between(1200, 3000), 1500)
	p.filtered(x, level, b.next)
}

// filtered adds white noise through a filter to the loop. The filter is first swung in
// on the end of the same noise, so that the loop closes.
func (p *plan) filtered(x []float32, level float64, filter func(white float64) float64) {
	const warm = 8000
	n := p.noise()
	before := n.skip(len(x) - warm)
	for range warm {
		filter(before.next())
	}
	for i := range x {
		if i%(slice*block) == 0 {
			p.pause()
		}
		x[i] += float32(level * filter(n.next()))
	}
}

// bowedNotes: a saw-like wave with a wooden body's resonances, a new stroke of
// the bow every second or two.
func bowedNotes(p *plan, x []float32) {
	oct := p.pick(0.5, 1, 2)
	f1, f2, top := p.between(350, 550), p.between(900, 1400), 2500+4000*p.bright
	step := p.rng.IntN(5)
	double := p.chance(0.3)
	p.manner = "one string"
	if double {
		p.manner = "two strings"
	}
	strike := func(step, from, n int, level float64) {
		hz := oct * p.degree(step)
		amp := make([]float64, min(36, int(8000/hz)))
		for k := range amp {
			f := hz * float64(k+1)
			body := 0.4 + math.Exp(-sq((f-f1)/250)) + 0.6*math.Exp(-sq((f-f2)/500))
			amp[k] = body / float64(k+1) / (1 + sq(f/top))
		}
		y := make([]float32, n)
		p.sing(y, harmonics(amp, noPhase), held{hz: hz, level: level, depth: p.between(0.001, 0.004), rate: p.between(4.5, 6), rise: p.between(0.06, 0.12)})
		add(x, y, from, 1)
	}
	off := p.rng.IntN(p.n)
	for beat := 0; beat < p.beats; {
		long := min([]int{2, 3, 4, 4}[p.rng.IntN(4)], p.beats-beat)
		from := (off + int(float64(beat)*p.beat)) % p.n
		n := int(float64(long)*p.beat) + frames(0.07)
		level := p.between(0.85, 1)
		strike(step, from, n, level)
		if double {
			strike(step+4, from, n, 0.5*level)
		}
		if p.chance(0.6) {
			step = max(0, min(6, step+p.rng.IntN(5)-2))
		}
		beat += long
	}
	p.air(x, 0.15)
}

func sq(v float64) float64 { return v * v }

// organChords: two chords in turn, each of three or four pipes.
func organChords(p *plan, x []float32) {
	roots := p.chords()
	count := 3 + p.rng.IntN(2)
	p.manner = []string{3: "three pipes", 4: "four pipes"}[count]
	half := p.beats / 8 * 4
	cut := int(float64(half) * p.beat)
	waves := make([]*wave, count)
	for i := range waves {
		waves[i] = harmonics([]float64{1, p.between(0.2, 0.6), 0.15 * p.rng.Float64(), p.between(0, 0.25)}, p.anyPhase)
	}
	rate := p.between(4, 6.5)
	for c, y := range [][]float32{x[:cut], x[cut:]} {
		q := p.player(true)
		level := 1.0
		for i, up := range []int{0, 4, 9, 2}[:count] {
			q.sing(y, waves[i], held{hz: q.degree(roots[1+c] + up), level: level, depth: 0.001, rate: rate, rise: 0.04})
			level *= q.between(0.5, 0.75)
		}
	}
	p.air(x, 0.06)
}

// pinkNoise falls by 3 dB an octave (three poles after P. Kellet, from memory).
func pinkNoise(p *plan, x []float32) {
	var b0, b1, b2 float64
	p.filtered(x, 1, func(w float64) float64 {
		b0 = float64(0.99765*b0) + float64(w*0.0990460)
		b1 = float64(0.96300*b1) + float64(w*0.2965164)
		b2 = float64(0.57000*b2) + float64(w*1.0526913)
		return b0 + b1 + b2 + float64(w*0.1848)
	})
}

// brownNoise falls by 6 dB an octave from 80 Hz on.
func brownNoise(p *plan, x []float32) {
	var y float64
	p.filtered(x, 1, func(w float64) float64 {
		y += float64(0.0105 * (w - y))
		return y
	})
}

// reedNotes: two sets of reeds a little apart in pitch, so that they beat.
func reedNotes(p *plan, x []float32) {
	amp := make([]float64, 14)
	for k := range amp {
		amp[k] = 1 / (1 + float64(k)*(1.2-0.6*p.bright))
		if k%2 == 1 {
			amp[k] *= 0.4
		}
	}
	w := harmonics(amp, p.anyPhase)
	hz := p.pick(1, 2, 4) * p.degree(p.rng.IntN(7))
	p.sing(x, w, held{hz: hz, level: 1, depth: 0.0005, rate: 4})
	p.sing(x, w, held{hz: hz + p.between(0.3, 3), level: p.between(0.15, 0.4), depth: 0.0005, rate: 4})
	p.air(x, 0.1)
}
