package source

import (
	"math"

	"slowneedle/audio"
)

// pluckedKinds: string models. Common practice is an under-read of about 12 dB
// for a plucked guitar.
var pluckedKinds = []kind{
	{name: "strummed", weight: 3, finished: spread{11.5, 1.8}, raw: spread{10.8, 1.8}, slow: 80, fast: 130, make: strummed},
	{name: "picked", weight: 3, finished: spread{12, 1.8}, raw: spread{10.8, 1.8}, slow: 76, fast: 130, make: picked},
	{name: "muted", weight: 2, finished: spread{13.5, 1.8}, raw: spread{12.5, 1.8}, slow: 84, fast: 140, make: muted},
	{name: "bass line", weight: 2, finished: spread{11.5, 1.8}, raw: spread{10.8, 1.8}, slow: 80, fast: 126, make: bassLine},
	{name: "single-note melody", weight: 2, finished: spread{12, 1.8}, raw: spread{10.8, 1.8}, slow: 80, fast: 130, make: tune},
	{name: "harp", weight: 1, reserved: true, finished: spread{11.5, 1.6}, raw: spread{10.8, 1.8}, slow: 70, fast: 110, make: harp},
	{name: "banjo roll", weight: 1, reserved: true, finished: spread{12.5, 1.6}, raw: spread{10.5, 1.5}, slow: 90, fast: 130, make: banjoRoll},
}

// pluck is how a string is plucked.
type pluck struct {
	hz, seconds float64
	t60         float64 // ring time of the fundamental
	soft        float64 // 0 hard and bright to 1 soft and dull
	spot        float64 // where: fraction of the string's length
	thump       float64 // how much of the body is heard
}

const (
	taper = 20 // frames of a burst that fade in and out, 0.4 ms
	ahead = 4  // frames of silence before a note, which its loop looks back on
)

// string renders one note: a burst of noise a period long travels round a
// delay line with a gentle low-pass in it. The line is the output itself, one
// period back, so a sample costs five products.
func (p *plan) string(k pluck) []float32 {
	x := make([]float32, frames(k.seconds))
	period := audio.Rate / k.hz
	s := 0.02 + 0.15*k.soft // low-pass: (1-s) + s·z^-1, delay about s
	whole := int(period - s)
	frac := period - s - float64(whole)
	loss := math.Pow(10, -3*period/(k.t60*audio.Rate))
	// Between two samples a cubic goes through four (Lagrange): a straight line would
	// take the treble off notes whose period lies half-way.
	d := 1 + frac
	cubic := [6]float64{1: -(d - 1) * (d - 2) * (d - 3) / 6, 2: d * (d - 2) * (d - 3) / 2, 3: -d * (d - 1) * (d - 3) / 2, 4: d * (d - 1) * (d - 2) / 6}
	var c [5]float32
	for i := range c {
		c[i] = float32(loss * ((1-s)*cubic[i+1] + s*cubic[i]))
	}
	// The burst: noise, duller when plucked softly, less its own echo from the
	// plucking point, without a mean.
	burst := make([]float64, whole)
	n := p.noise()
	a := 0.08 + 0.3*(1-k.soft)
	y, z, sum := 0.0, 0.0, 0.0
	for i := range burst {
		y += a * (n.next() - y)
		z += a * (y - z)
		burst[i] = z
		sum += z
	}
	back := max(1, int(k.spot*float64(whole)))
	mean := sum / float64(whole)
	for i := range burst { // it goes round: its ends meet without a step
		burst[i] = (burst[i] - mean) * min(1, float64(i+1)/taper, float64(whole-i)/taper)
	}
	energy := 0.0
	for i := range burst {
		v := burst[i] - burst[(i-back+whole)%whole]
		x[i+ahead] = float32(v)
		energy += v * v
	}
	g := float32(0.3 / math.Sqrt(energy/float64(whole)+1e-12))
	for i := range whole {
		x[i+ahead] *= g
	}
	travel(x, ahead+whole, c)
	if k.thump > 0 {
		modes(mode{p.between(95, 115), 0.16, 0.35 * k.thump}, mode{p.between(190, 230), 0.10, 0.3 * k.thump})(p, x)
	}
	fade(x, min(len(x)/3, frames(0.05)))
	return x
}

// travel sends what is in x once more through a string's loop, period after
// period: x[i+lag] is the sum of c[k]*x[i+ahead+1-k].
func travel(x []float32, lag int, c [5]float32) {
	to, from := x[lag:], x[ahead+1:]
	x1, x2, x3, x4 := x[4], x[3], x[2], x[1]
	for i := range to {
		x0 := from[i]
		to[i] = float32(c[0]*x0) + float32(c[1]*x1) + float32(c[2]*x2) + float32(c[3]*x3) + float32(c[4]*x4)
		x1, x2, x3, x4 = x0, x1, x2, x3
	}
}

// strummed: chords of five or six strings, down and up, one chord a bar.
func strummed(p *plan, x []float32) {
	p.manner = one(p.dense, "slow", "driving")
	roots := p.chords()
	soft := 0.75 - 0.5*p.bright
	gap := p.between(0.006, 0.018)
	half := p.beat / 2
	var on [8]float64
	on[0] = 1
	for i := 1; i < 8; i++ {
		if p.chance(0.3 + 0.5*p.dense) {
			on[i] = []float64{0.9, 0.55, 0.75, 0.6}[i%4]
		}
	}
	// The hand that strikes again stops what rang before.
	var until [8]int
	longest := 0 // that a down stroke rings
	for i := range on {
		next := i + 1
		for next < 8 && on[next] == 0 {
			next++
		}
		until[i] = int(float64(next-i)*half) + frames(0.03)
		if i%2 == 0 && on[i] > 0 {
			longest = max(longest, until[i])
		}
	}
	rings := min(2.1, float64(longest)/audio.Rate+0.03)
	made := map[int][2][]float32{}
	for _, r := range roots {
		if _, ok := made[r]; !ok {
			made[r] = p.player(true).strum(r, soft, gap, rings)
			p.pause()
		}
	}
	for i := range 2 * p.beats {
		if on[i%8] > 0 {
			at := float64(i/8)*4*p.beat + (float64(i%8)+0.015*p.bell())*half
			p.playCut(x, made[roots[i/8%4]][i%2], until[i%8], at, on[i%8])
		}
	}
}

// strum renders a chord struck down, whose strings ring for so many seconds, and up, by a
// hand that takes a gap from string to string.
func (p *plan) strum(root int, soft, gap, rings float64) [2][]float32 {
	down, up := make([]float32, frames(rings+0.1)), make([]float32, frames(0.7))
	for i, step := range []int{0, 4, 7, 9, 11} {
		f := p.degree(root + step)
		for f > 520 {
			f /= 2
		}
		long := rings - gap*float64(i)
		if i >= 2 {
			long = max(long, 0.6)
		}
		note := p.string(pluck{f, long, p.between(2, 3.5), soft, p.between(0.12, 0.3), 0.3})
		add(down, note[:min(len(note), frames(rings))], frames(gap*float64(i)), 0.5)
		if i >= 2 {
			add(up, note[:min(len(note), frames(0.6))], frames(gap*float64(4-i)), 0.4)
		}
	}
	fade(up, frames(0.1))
	return [2][]float32{down, up}
}

// notes returns what renders each scale step once.
func notes(make func(step int) []float32) (at func(step int) []float32) {
	made := map[int][]float32{}
	return func(step int) []float32 {
		if made[step] == nil {
			made[step] = make(step)
		}
		return made[step]
	}
}

// strings is notes of a string each.
func (p *plan) strings(of func(step int) pluck) (at func(step int) []float32) {
	return notes(func(step int) []float32 { return p.string(of(step)) })
}

// picked: broken chords, each string ringing on.
func picked(p *plan, x []float32) {
	p.manner = []string{"steel strings", "nylon strings"}[p.rng.IntN(2)]
	soft := 0.35 - 0.3*p.bright
	if p.manner == "nylon strings" {
		soft += 0.45
	}
	sub, count, ring := p.beat/2, p.beats*2, 1.4
	if p.dense > 0.7 {
		sub, count, ring = sub/2, count*2, 0.8
	}
	note := p.strings(func(step int) pluck {
		return pluck{p.degree(step), ring, p.between(2, 4), soft, p.between(0.1, 0.3), 0.35}
	})
	roots := p.chords()
	orders := [][8]int{{0, 4, 7, 9, 11, 9, 7, 4}, {0, 7, 4, 9, 7, 11, 9, 7}, {0, 4, 7, 4, 9, 4, 7, 4}, {0, 9, 7, 4, 0, 9, 11, 7}}
	order := orders[p.rng.IntN(len(orders))]
	for i := range count {
		at := (float64(i) + 0.02*p.bell()) * sub
		if i%8 != 0 && p.chance(0.25-0.2*p.dense) {
			continue
		}
		step := roots[(i/8)%4] + order[i%8]
		if step > 13 {
			step -= 7
		}
		g := p.between(0.5, 0.8)
		if i%8 == 0 {
			g = 1
		}
		p.play(x, note(step), at, g)
	}
}

// muted: short, damped low strings in eighths and sixteenths.
func muted(p *plan, x []float32) {
	p.manner = one(p.dense, "choppy", "chugging")
	soft := 0.6 - 0.3*p.bright
	note := notes(func(step int) []float32 {
		t := p.between(0.4, 0.9)
		h := make([]float32, frames(0.4))
		for _, s := range []int{step, step + 4, step + 7} {
			add(h, p.string(pluck{p.degree(s), 0.38, t, soft, 0.12, 0.5}), frames(0.004*float64(s-step)/4), 0.5)
		}
		hiss(2500, 2500, 0, 0.012, 0.08)(p, h)
		return h
	})
	roots := p.chords()
	six := p.beat / 4
	var on [16]bool
	for i := range on {
		on[i] = i%4 == 0 || p.chance(0.25+0.55*p.dense)
	}
	for i := range p.beats * 4 {
		if !on[i%16] {
			continue
		}
		g := p.between(0.5, 0.75)
		if i%4 == 0 {
			g = p.between(0.85, 1)
		}
		step := roots[(i/16)%4]
		if i%16 > 12 && p.chance(0.4) {
			step += 2
		}
		p.play(x, note(step), (float64(i)+0.02*p.bell())*six, g)
	}
}

// bassLine: one low string at a time.
func bassLine(p *plan, x []float32) {
	p.manner = []string{"walking", "broken", "pumping"}[p.rng.IntN(3)]
	soft := 0.95 - 0.4*p.bright
	note := notes(func(step int) []float32 {
		f := p.degree(step) / 2
		for f < 38 {
			f *= 2
		}
		h := p.string(pluck{f, 1.1, p.between(1.5, 3), soft, p.between(0.08, 0.25), 0})
		modes(mode{f, 0.7, 0.15}, mode{f * 2, 0.4, 0.1})(p, h)
		hiss(1800, 1500, 0, 0.01, 0.05+0.1*p.bright)(p, h)
		return h
	})
	roots := p.chords()
	half := p.beat / 2
	walk := [4]int{0, 2, 4, p.rng.IntN(3) + 4}
	var on [8]bool
	for i := range on {
		on[i] = i == 0 || p.chance(0.2+0.5*p.dense)
	}
	type event struct {
		at   float64
		step int
	}
	var line []event
	for i := range p.beats * 2 {
		r := roots[(i/8)%4]
		switch {
		case p.manner == "walking" && i%2 == 0:
			line = append(line, event{float64(i), r + walk[(i/2)%4]})
		case p.manner == "pumping":
			line = append(line, event{float64(i), r})
		case p.manner == "broken" && on[i%8]:
			line = append(line, event{float64(i), r + []int{0, 0, 4, 7, 4}[p.rng.IntN(5)]})
		}
	}
	for i, e := range line {
		until := float64(p.beats * 2)
		if i+1 < len(line) {
			until = line[i+1].at
		}
		long := int((until-e.at)*half*0.92) + 1000
		p.playCut(x, note(e.step), long, (e.at+0.015*p.bell())*half, p.between(0.75, 1))
	}
}

// tune: a melody on single strings, notes of uneven length.
func tune(p *plan, x []float32) {
	oct := p.pick(1, 2)
	p.manner = []string{"low", "high"}[int(oct)-1]
	soft := 0.6 - 0.5*p.bright
	note := p.strings(func(step int) pluck {
		return pluck{oct * p.degree(step), 1.8, p.between(2, 4), soft, p.between(0.08, 0.35), 0.35}
	})
	half := p.beat / 2
	step := 4
	for i := 0; i < p.beats*2; {
		long := []int{1, 1, 2, 2, 3, 4}[p.rng.IntN(6)]
		if p.dense > 0.5 {
			long = []int{1, 1, 1, 2, 2}[p.rng.IntN(5)]
		}
		step = max(-3, min(9, step+p.rng.IntN(5)-2))
		p.playCut(x, note(step), int(float64(long)*half)+3000, (float64(i)+0.02*p.bell())*half, p.between(0.6, 1))
		if long >= 2 && p.chance(0.35) {
			p.play(x, note(step-2), (float64(i)+0.04)*half, 0.6)
		}
		i += long
	}
}

// harp: broken chords over two octaves, up or down, every string left to ring.
func harp(p *plan, x []float32) {
	roots := p.chords()
	soft := 0.75 - 0.3*p.bright
	note := p.strings(func(step int) pluck {
		return pluck{p.degree(step), 2.2, p.between(2.5, 4.5), soft, p.between(0.25, 0.45), 0.15}
	})
	six := p.beat / 4
	for i := 0; i < p.beats*4; i += 8 {
		count := 4 + p.rng.IntN(5)
		down := p.chance(0.3)
		for j := range count {
			up := []int{0, 2, 4, 7, 9, 11, 14, 16}[j]
			if down {
				up = 16 - up
			}
			g := p.between(0.6, 0.8)
			if j == 0 {
				g = 1
			}
			p.play(x, note(roots[i/16%4]+up), (float64(i+j)+0.05*p.bell())*six, g)
		}
	}
}

// banjoRoll: a short-ringing string in every sixteenth, one of three orders.
func banjoRoll(p *plan, x []float32) {
	order := [][8]int{{4, 7, 0, 4, 7, 0, 4, 7}, {0, 4, 7, 11, 7, 4, 0, 7}, {7, 4, 0, 11, 7, 4, 0, 11}}[p.rng.IntN(3)]
	roots := p.chords()
	note := p.strings(func(step int) pluck {
		return pluck{2 * p.degree(step), 0.9, p.between(0.5, 0.9), 0.1 + 0.2*(1-p.bright), p.between(0.08, 0.15), 0.25}
	})
	six := p.beat / 4
	for i := range p.beats * 4 {
		g := p.between(0.5, 0.75)
		if i%8 == 0 || i%8 == 3 {
			g = 1
		}
		p.play(x, note(roots[i/16%4]+order[i%8]), (float64(i)+0.03*p.bell())*six, g)
	}
}
