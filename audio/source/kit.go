package source

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
	k.ride = p.stroke(0.6, frames(0.2), metal(10, 2600, 11000, 1.1, 0.26), hiss(6500, 6000, 0, 0.25, 0.14))
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
				p.play(x, k.ride, at, hat[i])
			case i == 14 && p.chance(0.4):
				p.play(x, k.open, at, 0.8)
			default:
				p.play(x, k.closed[v], at, hat[i])
			}
		}
	}
}
