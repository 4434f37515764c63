package source

import "slowneedle/audio"

// ensembleKinds: two to five of the other families balanced. Between the
// voice's and the drums' under-read: 8 to 11 dB.
func ensembleKinds() []kind {
	return []kind{
		{"voice and guitar", 2, 8.5, 1.5, 84, 120, duo},
		{"bass and drums", 2, 11, 1.6, 84, 130, bassKit},
		{"guitar with pad and drums", 2, 10.5, 1.6, 84, 130, stringsKit},
		{"voice over a bed", 2, 8, 1.5, 84, 120, overBed},
		{"band", 2, 9.8, 1.5, 90, 126, fullBand},
	}
}

type player struct {
	make func(p *plan) []float32
	db   float64
}

// balance plays several parts together, each brought to a level by its needle
// reading.
func (p *plan) balance(ps ...player) []float32 {
	out := make([][]float32, len(ps))
	level := make([]float64, len(ps))
	var todo []func()
	for i, pl := range ps {
		q := p.part()
		level[i] = audio.Gain(pl.db + p.between(-1.5, 1.5))
		todo = append(todo, func() {
			out[i] = pl.make(q)
			q.release()
			if d := levelsOf(out[i]).deflection(nil); d > 0 {
				level[i] /= d
			}
		})
	}
	together(todo...)
	x := out[0]
	cut := p.n / 2
	for i, y := range out[1:] {
		g := float32(level[i+1] / level[0])
		together(
			func() { mix(x[:cut], y[:cut], g) },
			func() { mix(x[cut:], y[cut:], g) },
		)
		loops.Put(&y)
	}
	return x
}

// pad: soft held triads, one a bar.
func pad(p *plan) []float32 {
	x := p.loop()
	roots := p.chords()
	w := harmonics([]float64{1, p.between(0.1, 0.5), 0.2 * p.bright}, p.anyPhase)
	// One second of each chord, in whole cycles, goes round as long as it is
	// held; that puts no note out of tune by more than half a hertz.
	made := map[int][]float32{}
	bar, edge := int(4*p.beat), frames(0.12)
	up := p.scratch(edge)
	for b := range p.beats / 4 {
		r := roots[b%4]
		if made[r] == nil {
			made[r] = p.scratch(audio.Rate)
			for _, step := range []int{0, 4, 9} {
				p.sing(made[r], w, held{hz: p.degree(r + step), level: 1, depth: 0.002, rate: 5})
			}
		}
		at := int(float64(4*b) * p.beat)
		copy(up, made[r])
		for i := range up {
			up[i] *= float32(i) / float32(edge)
		}
		add(x, up, at, 1)
		for i := edge; i < bar; {
			from := i % audio.Rate
			n := min(bar-i, audio.Rate-from)
			add(x, made[r][from:from+n], at+i, 1)
			i += n
		}
		tail := bar % audio.Rate
		for i := range up {
			up[i] = made[r][(tail+i)%audio.Rate] * (1 - float32(i)/float32(edge))
		}
		add(x, up, at+bar, 1)
	}
	return x
}

func speech(p *plan) []float32 {
	p.speech = true
	return p.talk([]speaker{p.speaker(p.chance(0.5))}, p.between(3.8, 4.6), 0.3, 0.7)
}

func duo(p *plan) []float32 { return p.balance(player{sungLine, 0}, player{strummed, -3}) }

func bassKit(p *plan) []float32 { return p.balance(player{kitPattern, 0}, player{bassLine, 0}) }

func stringsKit(p *plan) []float32 {
	return p.balance(player{kitPattern, 0}, player{picked, 0}, player{pad, -8})
}

func overBed(p *plan) []float32 {
	return p.balance(player{speech, 0}, player{pad, -12}, player{picked, -8})
}

func fullBand(p *plan) []float32 {
	ps := []player{{sungLine, 1}, {strummed, -3}, {kitPattern, 0}, {bassLine, -2}}
	p.manner = "four parts"
	if p.dense > 0.5 {
		p.manner = "five parts"
		ps = append(ps, player{pad, -9})
	}
	return p.balance(ps...)
}
