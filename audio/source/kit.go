package source

// kit is one drum kit, every sound rendered once or twice.
type kit struct {
	kick, snare, rim, closed, open, ride [2][]float32
	toms                                 [3][]float32
}

func (p *plan) kit() *kit {
	k := new(kit)
	low := p.between(44, 62)
	tight := p.between(0.25, 0.6)
	tone := p.between(170, 240)
	for i := range 2 {
		k.kick[i] = p.drum(tight*1.1, low*p.between(3.4, 3.8), low, 0.12, tight, 0.95)
		p.hiss(k.kick[i], 2600, 2400, 0, 0.03, 0.10+0.15*p.bright)

		s := p.scratch(frames(0.45))
		ring(s, mode{tone, 0.35, 0.45}, mode{tone * 1.59, 0.25, 0.28})
		p.hiss(s, p.between(2300, 3800), 3200, 0, p.between(0.2, 0.4), 0.62)
		p.hiss(s, 7500, 5000, 0, 0.12, 0.2+0.25*p.bright)
		fade(s, frames(0.02))
		k.snare[i] = s

		r := p.scratch(frames(0.2))
		ring(r, mode{tone * 2.4, 0.12, 0.4}, mode{1720, 0.09, 0.4}, mode{2480, 0.05, 0.2})
		p.hiss(r, 3000, 3000, 0, 0.02, 0.2)
		k.rim[i] = r

		h := p.scratch(frames(0.09))
		p.hiss(h, 8500, 4500, 0, p.between(0.05, 0.08), 0.48)
		p.metal(h, 4, 5200, 12000, 0.08, 0.18)
		k.closed[i] = h
	}
	o := p.scratch(frames(0.5))
	p.hiss(o, 8000, 5000, 0.002, 0.45, 0.30)
	p.metal(o, 6, 4200, 12000, 0.5, 0.16)
	fade(o, frames(0.05))
	k.open = [2][]float32{o, o}
	for i := range k.toms {
		f := low * []float64{1.5, 2.0, 2.6}[i]
		k.toms[i] = p.drum(0.8, f*1.5, f, 0.1, 0.9, 0.75)
		p.hiss(k.toms[i], 1800, 1500, 0, 0.05, 0.12)
	}
	r := p.scratch(frames(0.6))
	p.metal(r, 10, 2600, 11000, 1.1, 0.26)
	p.hiss(r, 6500, 6000, 0, 0.25, 0.14)
	fade(r, frames(0.2))
	k.ride = [2][]float32{r, r}
	return k
}

// kitPattern: bars of sixteenths with a back beat, varied from bar to bar,
// a fill on the toms at the end.
func kitPattern(p *plan) []float32 {
	x := p.loop()
	k := p.kit()
	p.manner = []string{"sparse", "straight", "busy"}[min(2, int(3*p.dense))]
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
			if snare[i] > 0 {
				if rim {
					p.play(x, k.rim[v], at, 0.9)
				} else {
					p.play(x, k.snare[bar&1], at, snare[i])
				}
			}
			if ghost[i] > 0 && p.chance(0.6) {
				p.play(x, k.snare[v], at, ghost[i])
			}
			switch {
			case hat[i] == 0:
			case ride:
				p.play(x, k.ride[0], at, hat[i])
			case i == 14 && p.chance(0.4):
				p.play(x, k.open[0], at, 0.8)
			default:
				p.play(x, k.closed[v], at, hat[i])
			}
		}
	}
	return x
}
