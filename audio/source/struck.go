package source

import "math"

// struckKinds: drums and bars. Common practice is an under-read of about 16 dB
// for drums; the kinds lie around it, the mallet instrument below and single hits above.
var struckKinds = []kind{
	{name: "drum groove", weight: 4, finished: spread{15.2, 1.9}, raw: spread{16.3, 2.2}, slow: 84, fast: 150, make: kitPattern},
	{name: "hand drums", weight: 2, finished: spread{15.2, 2.4}, raw: spread{17.2, 2.2}, slow: 84, fast: 130, make: handDrums},
	{name: "mallet instrument", weight: 2, finished: spread{14.5, 1.9}, raw: spread{15.5, 2.2}, slow: 80, fast: 140, make: tunedBars},
	{name: "single hits", weight: 2, finished: spread{17.6, 1.9}, raw: spread{19.5, 2.2}, slow: 80, fast: 120, make: singleHits},
	{name: "shaker and claves", weight: 2, finished: spread{17.8, 1.9}, raw: spread{17.2, 2.2}, slow: 84, fast: 128, make: shakerSticks},
	{name: "kettle drum", weight: 1, reserved: true, finished: spread{14.5, 1.7}, raw: spread{14.5, 2}, slow: 76, fast: 110, make: kettleDrum},
	{name: "tambourine and cowbell", weight: 1, reserved: true, finished: spread{16.5, 1.7}, raw: spread{16, 2}, slow: 90, fast: 130, make: tambourine},
}

// spread16 lays n strokes as evenly as may be over 16 steps (Euclid's rhythm),
// turned by some steps.
func spread16(n, turn int) (on [16]bool) {
	for i := range 16 {
		on[(i+turn)%16] = (i*n)%16 < n
	}
	return
}

// handDrums: two or three skins, each with an open tone, a slap and a low
// stroke, in interlocking patterns.
func handDrums(p *plan, x []float32) {
	p.manner = one(p.dense, "slow", "rolling")
	skins := 2 + p.rng.IntN(2)
	six := p.beat / 4
	f := p.between(130, 190)
	for range skins {
		open := p.stroke(0.45, 2000, modes(mode{f, 0.42, 0.7}, mode{f * 1.59, 0.22, 0.4}, mode{f * 2.14, 0.14, 0.28}, mode{f * 2.65, 0.08, 0.2}),
			hiss(2500, 2000, 0, 0.02, 0.24))
		slap := p.stroke(0.16, 800, modes(mode{f * 2.14, 0.1, 0.35}, mode{f * 4.2, 0.07, 0.4}, mode{f * 6.4, 0.05, 0.3}),
			hiss(3200, 3500, 0, 0.08, 0.5+0.3*p.bright))
		bass := p.stroke(0.4, 0, skin(f*0.62, f*0.5, 0.05, 0.4, 0.8), hiss(900, 900, 0, 0.04, 0.2))
		hits := 3 + p.rng.IntN(3) + int(4*p.dense)
		on := spread16(min(hits, 11), p.rng.IntN(16))
		var stroke [16]int
		for i := range stroke {
			stroke[i] = p.rng.IntN(3)
		}
		loud := p.between(0.6, 1)
		for i := range p.beats * 4 {
			at := (float64(i) + 0.02*p.bell()) * six
			j := i % 16
			if on[j] != p.chance(0.07) {
				g := loud * p.between(0.55, 1)
				p.play(x, [][]float32{open, slap, bass}[stroke[j]], at, g)
			} else if p.chance(0.3 * p.dense) {
				p.play(x, slap, at, 0.12*loud)
			}
		}
		f *= p.pick(1.34, 1.5, 1.26)
	}
}

// tunedBars: a free bar's modes (1 : 4 : 9.9 tuned, as makers of tuned
// percussion do) under soft or hard mallets, a tune in the key.
func tunedBars(p *plan, x []float32) {
	p.manner = one(p.bright, "soft mallets", "hard mallets")
	oct := one(p.bright, 2.0, 4)
	ratio := [3]float64{1, 4, 9.9}
	if p.chance(0.4) {
		ratio = [3]float64{1, 2.98, 6.2}
	}
	long := p.between(0.35, 0.9)
	bar := notes(func(step int) []float32 {
		f := oct * p.degree(step)
		t := long * math.Sqrt(440/f)
		h := p.bright
		return p.stroke(t, 1500, modes(mode{f * ratio[0], t, 0.6}, mode{f * ratio[1], t * 0.25, 0.2 + 0.5*h},
			mode{f * ratio[2], t * 0.09, 0.05 + 0.5*h}, mode{f * 1.003, t * 0.8, 0.15}), hiss(1500+4000*h, 2500, 0, 0.012, 0.12+0.35*h))
	})
	half := p.beat / 2
	step := p.rng.IntN(7)
	var motif [8]int
	var rest [8]bool
	for i := range motif {
		motif[i] = p.rng.IntN(5) - 2
		rest[i] = p.chance(0.5 - 0.35*p.dense)
	}
	rest[0] = false
	for i := range p.beats * 2 {
		j := i % 8
		if j == 0 {
			step = p.rng.IntN(7)
		}
		step = max(0, min(11, step+motif[j]))
		at := (float64(i) + 0.02*p.bell()) * half
		if rest[j] != p.chance(0.1) {
			continue
		}
		p.play(x, bar(step), at, p.between(0.6, 1))
		if j == 0 && p.chance(0.6) {
			p.play(x, bar(max(0, step-3)), at, 0.7)
		}
	}
}

// singleHits: one stroke every second or two, in a room.
func singleHits(p *plan, x []float32) {
	var hits [2][]float32
	low := p.between(60, 110)
	switch p.rng.IntN(4) {
	case 0:
		p.manner = "low drum"
		for i := range hits {
			hits[i] = p.stroke(0.9, 0, skin(low*1.3, low, 0.08, 0.9, 0.8), hiss(900, 900, 0, 0.05, 0.15))
		}
	case 1:
		p.manner = "wood block"
		for i := range hits {
			f := p.between(600, 900) * []float64{1, 1.4}[i]
			hits[i] = p.stroke(0.25, 0, modes(mode{f, 0.09, 0.6}, mode{f * 2.6, 0.05, 0.4}, mode{f * 4.1, 0.03, 0.3}), hiss(3000, 3000, 0, 0.012, 0.3))
		}
	case 2:
		p.manner = "snare"
		hits = p.kit().snare
	default:
		p.manner = "hand claps"
		for i := range hits {
			hits[i] = p.stroke(0.3, 0, hands(4), hiss(1500, 1600, 0.02, 0.25, 0.2))
		}
	}
	for i := range hits {
		hits[i] = p.room(hits[i])
	}
	for i := 0; i < p.beats; {
		p.play(x, hits[p.rng.IntN(len(hits))], (float64(i)+0.02*p.bell())*p.beat, p.between(0.6, 1))
		i += 1 + p.rng.IntN(2) + p.rng.IntN(2)*int(2-1.5*p.dense)
	}
}

// hands is as many hands that clap nearly at once.
func hands(count int) layer {
	return func(p *plan, x []float32) {
		for i := range count {
			late := x[i*frames(p.between(0.006, 0.012)):]
			hiss(p.between(1100, 1700), 1400, 0, 0.05, 0.5)(p, late)
		}
	}
}

// shakerSticks: a shaker in sixteenths, hard wood on the beat, jingles.
func shakerSticks(p *plan, x []float32) {
	p.manner = one(p.dense, "open", "dense")
	var shake [3][]float32
	hz := p.between(4500, 7000)
	for i := range shake {
		shake[i] = p.stroke(0.12, 0, hiss(hz*(1+0.05*float64(i)), 4000, p.between(0.012, 0.03), 0.11, 0.24))
	}
	f := p.between(1800, 2700)
	stick := p.stroke(0.14, 0, modes(mode{f, 0.14, 0.7}, mode{f * 1.02, 0.1, 0.3}, mode{f * 2.7, 0.03, 0.25}), hiss(3500, 3000, 0, 0.008, 0.25))
	jingle := p.stroke(0.35, 3000, metal(10, 4800, 13000, 0.35, 0.3), hiss(9000, 5000, 0.003, 0.09, 0.2))
	stick, jingle = p.room(stick), p.room(jingle)
	clave := spread16(3+p.rng.IntN(4), p.rng.IntN(4))
	six := p.beat / 4
	for i := range p.beats * 4 {
		at := (float64(i) + 0.02*p.bell()) * six
		j := i % 16
		if i%2 == 0 || p.chance(0.2+0.8*p.dense) {
			p.play(x, shake[p.rng.IntN(3)], at, []float64{1, 0.4, 0.6, 0.4}[i%4])
		}
		if clave[j] {
			p.play(x, stick, at, p.between(0.3, 0.42))
		}
		if j%8 == 4 && p.chance(0.8) {
			p.play(x, jingle, at, p.between(0.5, 0.9))
		}
	}
}

// kettleDrum: two tuned skins, single strokes and short rolls. A kettle's preferred
// modes stand nearly as 1 : 1.5 : 1.98 : 2.44 (T. D. Rossing, "The physics of
// kettledrums", Scientific American, 1982; from memory).
func kettleDrum(p *plan, x []float32) {
	var drum [2][]float32
	for i := range drum {
		f := p.degree(4*i) * p.pick(0.5, 0.75)
		drum[i] = p.stroke(1.2, 4000, modes(mode{f, 1.1, 0.5}, mode{1.5 * f, 0.9, 0.35}, mode{1.98 * f, 0.6, 0.2}, mode{2.44 * f, 0.4, 0.12}),
			hiss(700, 900, 0, 0.05, 0.25))
	}
	for i := 0; i < p.beats; {
		which := p.rng.IntN(2)
		if p.chance(0.2) { // a roll
			for j := range 8 {
				p.play(x, drum[which], (float64(i)+(float64(j)+0.1*p.bell())/8)*p.beat, 0.25+0.05*float64(j))
			}
		} else {
			p.play(x, drum[which], (float64(i)+0.02*p.bell())*p.beat, p.between(0.6, 1))
		}
		i += 1 + p.rng.IntN(2)
	}
}

// tambourine: jingles in eighths, struck on the back beat, and a cowbell between.
func tambourine(p *plan, x []float32) {
	var shake, strike [3][]float32
	for i := range shake {
		shake[i] = p.stroke(0.14, 0, hiss(p.between(7000, 9000), 5000, 0.01, 0.1, 0.25))
		frame := func(p *plan, x []float32) { modes(mode{p.between(280, 340), 0.08, 0.3})(p, x) }
		strike[i] = p.stroke(0.4, 2000, metal(8, 5000, 12000, p.between(0.15, 0.3), 0.35), hiss(8000, 6000, 0, 0.15, 0.3), frame)
	}
	f := p.between(520, 620)
	bell := p.stroke(0.4, 0, modes(mode{f, 0.35, 0.4}, mode{1.48 * f, 0.3, 0.4}, mode{2.9 * f, 0.08, 0.2}), hiss(2500, 2500, 0, 0.01, 0.2))
	clave := spread16(4+p.rng.IntN(3), p.rng.IntN(4))
	half := p.beat / 2
	for i := range p.beats * 2 {
		at := (float64(i) + 0.02*p.bell()) * half
		if i%4 == 2 {
			p.play(x, strike[p.rng.IntN(3)], at, p.between(0.7, 1))
		} else {
			p.play(x, shake[p.rng.IntN(3)], at, p.between(0.4, 0.8))
		}
		if clave[i%16] {
			p.play(x, bell, at, p.between(0.5, 0.9))
		}
	}
}

// kit is one drum kit, every stroke rendered once or twice.
type kit struct {
	kick, snare, rim, closed [2][]float32
	toms                     [3][]float32
	open, ride               []float32
}

func (p *plan) kit() *kit {
	k := new(kit)
	low := p.between(44, 62)
	tight := p.between(0.25, 0.6)
	tone := p.between(170, 240)
	for i := range 2 {
		k.kick[i] = p.stroke(tight*1.1, 0, skin(low*p.between(3.4, 3.8), low, 0.12, tight, 0.95), hiss(2600, 2400, 0, 0.03, 0.10+0.15*p.bright))
		k.snare[i] = p.stroke(0.45, frames(0.02), modes(mode{tone, 0.35, 0.45}, mode{tone * 1.59, 0.25, 0.28}),
			hiss(p.between(2300, 3800), 3200, 0, p.between(0.2, 0.4), 0.62), hiss(7500, 5000, 0, 0.12, 0.2+0.25*p.bright))
		k.rim[i] = p.stroke(0.2, 0, modes(mode{tone * 2.4, 0.12, 0.4}, mode{1720, 0.09, 0.4}, mode{2480, 0.05, 0.2}), hiss(3000, 3000, 0, 0.02, 0.2))
		k.closed[i] = p.stroke(0.09, 0, hiss(8500, 4500, 0, p.between(0.05, 0.08), 0.48), metal(4, 5200, 12000, 0.08, 0.18))
	}
	k.open = p.stroke(0.5, frames(0.05), hiss(8000, 5000, 0.002, 0.45, 0.30), metal(6, 4200, 12000, 0.5, 0.16))
	for i, up := range []float64{1.5, 2.0, 2.6} {
		k.toms[i] = p.stroke(0.8, 0, skin(low*up*1.5, low*up, 0.1, 0.9, 0.75), hiss(1800, 1500, 0, 0.05, 0.12))
	}
	k.ride = p.stroke(0.6, frames(0.2), metal(10, 2600, 11000, 0.5, 0.3), hiss(6500, 6000, 0, 0.25, 0.14))
	return k
}

// kitPattern: bars of sixteenths with a back beat, varied from bar to bar,
// a fill on the toms at the end.
func kitPattern(p *plan, x []float32) {
	k := p.kit()
	p.manner = one(p.dense, "sparse", "straight", "busy")
	var kick, snare, ghost, hat [16]float64
	kick[0], snare[4], snare[12] = 1, 1, 1
	switch p.rng.IntN(4) {
	case 0: // half time
		snare[4], snare[12], snare[8] = 0, 0, 1
	case 1: // four to the bar
		kick[4], kick[8], kick[12] = 0.9, 1, 0.9
	}
	for i := range 16 {
		if kick[i] == 0 && snare[i] == 0 && p.chance(0.08+0.16*p.dense) {
			kick[i] = p.between(0.55, 0.95)
		}
		if p.chance(0.25 * p.dense) {
			ghost[i] = p.between(0.08, 0.2)
		}
	}
	every := 4 >> min(2, int(3*p.dense)) // quarters, eighths or sixteenths
	for i := 0; i < 16; i += every {
		hat[i] = []float64{1, 0.45, 0.7, 0.45}[i%4]
	}
	swing := 0.0
	if p.chance(0.3) {
		swing = p.between(0.1, 0.3)
	}
	ride := p.chance(0.3)
	rim := p.chance(0.2)
	six := p.beat / 4
	bars := p.beats / 4
	for bar := range bars {
		for i := range 16 {
			late := 0.0
			if i%2 == 1 {
				late = swing
			}
			at := (float64(bar*16+i) + late + 0.012*p.bell()) * six
			v := i & 1
			if bar == bars-1 && i >= 10 && p.dense > 0.25 {
				if p.chance(0.75) {
					p.play(x, k.toms[max(0, 2-(i-10)/2)], at, p.between(0.6, 0.9))
				}
				continue
			}
			if kick[i] > 0 && (kick[i] == 1 || p.chance(0.8)) {
				p.play(x, k.kick[v], at, kick[i])
			}
			switch {
			case snare[i] == 0:
			case rim:
				p.play(x, k.rim[v], at, 0.9)
			default:
				p.play(x, k.snare[bar&1], at, snare[i])
			}
			if ghost[i] > 0 && p.chance(0.6) {
				p.play(x, k.snare[v], at, ghost[i])
			}
			switch {
			case hat[i] == 0:
			case ride:
				p.play(x, k.ride, at, hat[i])
			case i == 14 && p.chance(0.4):
				p.play(x, k.open, at, 0.8)
			default:
				p.play(x, k.closed[v], at, hat[i])
			}
		}
	}
}
