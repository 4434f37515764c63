package source

import (
	"math"

	"slowneedle/audio"
)

// ensembleKinds: two to five of the other families balanced. Between the
// voice's and the drums' under-read: 8 to 11 dB.
var ensembleKinds = []kind{
	{name: "voice and guitar", weight: 2, finished: spread{8.5, 1.5}, raw: spread{8.5, 1.5}, slow: 84, fast: 120, players: duo},
	{name: "bass and drums", weight: 2, finished: spread{11, 1.6}, raw: spread{11, 1.5}, slow: 84, fast: 130, players: bassKit},
	{name: "guitar with pad and drums", weight: 2, finished: spread{10.5, 1.6}, raw: spread{10.5, 1.5}, slow: 84, fast: 130, players: stringsKit},
	{name: "voice over a bed", weight: 2, finished: spread{8, 1.5}, raw: spread{8, 1.5}, slow: 84, fast: 120, players: overBed},
	{name: "band", weight: 2, finished: spread{9.8, 1.5}, raw: spread{9.8, 1.5}, slow: 90, fast: 126, players: fullBand},
	{name: "voice and harp", weight: 1, reserved: true, finished: spread{8.5, 1.5}, raw: spread{8.5, 1.5}, slow: 76, fast: 110, players: voiceHarp},
	{name: "banjo with bass and hand drums", weight: 1, reserved: true, finished: spread{10.5, 1.5}, raw: spread{10.5, 1.5}, slow: 90, fast: 130, players: stringBand},
}

// player is one part of an ensemble.
type player struct {
	make func(p *plan, x []float32)
	db   float64 // level by the needle
	pan  float64 // place: -1 left to 1 right
}

// balance plays several parts together on two channels, each brought to a level by
// its needle reading and put in its place, in a room that sends an echo of each
// side to the other. What is in the middle is as loud in both, so that the sum of the
// channels keeps every part. Players are made two at a time, which bounds the memory.
func (p *plan) balance(ps ...player) [][]float32 {
	left, right := make([]float32, p.n), make([]float32, p.n)
	for first := true; len(ps) > 0; first = false {
		now := ps[:min(2, len(ps))]
		ps = ps[len(now):]
		made := make([][]float32, len(now))
		level := make([]float64, len(now))
		var todo []func()
		for i, pl := range now {
			q := p.player(first && i == 0)
			made[i] = make([]float32, p.n)
			level[i] = audio.Gain(pl.db + p.between(-1.5, 1.5))
			todo = append(todo, func() {
				pl.make(q, made[i])
				if d := q.levels(made[i : i+1]).deflection(nil); d > 0 {
					level[i] /= d
				}
			})
		}
		p.together(todo...)
		for i, pl := range now {
			// Equal power: what is off the middle is up to 3 dB louder on its side.
			sin, cos := math.Sincos((1 + pl.pan) * math.Pi / 4)
			p.mix(left, made[i], level[i]*cos)
			p.mix(right, made[i], level[i]*sin)
		}
	}
	wet := p.pick(-1, 1) * 0.15
	if p.raw {
		wet *= 2 // nobody has made the room smaller
	}
	p.echo(left, right, p.between(0.009, 0.014), wet)
	p.echo(right, left, p.between(0.015, 0.023), wet)
	return [][]float32{left, right}
}

// mix adds src times gain to dst in slices.
func (p *plan) mix(dst, src []float32, gain float64) {
	for len(src) > 0 {
		n := min(len(src), slice*block)
		mix(dst, src[:n], float32(gain))
		dst, src = dst[n:], src[n:]
		p.pause()
	}
}

// echo adds src, delayed by some seconds, to the loop dst.
func (p *plan) echo(dst, src []float32, delay, gain float64) {
	late := frames(delay)
	p.mix(dst[late:], src[:len(src)-late], gain)
	p.mix(dst, src[len(src)-late:], gain)
}

// pad: soft held triads, one a bar.
func pad(p *plan, x []float32) {
	roots := p.chords()
	w := harmonics([]float64{1, p.between(0.1, 0.5), 0.2 * p.bright}, p.anyPhase)
	// One second of each chord, in whole cycles, goes round as long as it is
	// held; that puts no note out of tune by more than half a hertz.
	chord := notes(func(root int) []float32 {
		x := make([]float32, audio.Rate)
		for _, up := range []int{0, 4, 9} {
			p.sing(x, w, held{hz: p.degree(root + up), level: 1, depth: 0.002, rate: 5})
		}
		return x
	})
	bar, edge := int(4*p.beat), frames(0.12)
	whole := make([]float32, bar+edge)
	for b := range p.beats / 4 {
		second := chord(roots[b%4])
		at := int(float64(4*b) * p.beat)
		if p.resting(at) || p.take && p.resting(at+bar) {
			continue
		}
		p.pause()
		for n := 0; n < len(whole); {
			n += copy(whole[n:], second)
		}
		for i := range edge {
			up := float32(i) / float32(edge)
			whole[i] *= up
			whole[bar+i] *= 1 - up
		}
		add(x, whole, at, 1)
	}
}

func speech(p *plan, x []float32) {
	how := fluent
	how.rate, how.pause = p.between(4.6, 5.5), [2]float64{0.15, 0.5}
	p.talk(x, []speaker{p.speaker(p.chance(0.5))}, how)
}

func duo(p *plan) []player { return []player{{sungLine, 0, 0}, {strummed, -3, p.between(-0.6, 0.6)}} }

func bassKit(*plan) []player { return []player{{kitPattern, 0, 0.1}, {bassLine, 0, -0.1}} }

func stringsKit(p *plan) []player {
	return []player{{kitPattern, 0, 0.1}, {picked, 0, p.between(-0.7, -0.3)}, {pad, -8, 0.4}}
}

func overBed(*plan) []player { return []player{{speech, 0, 0}, {pad, -12, 0.4}, {picked, -8, -0.5}} }

func fullBand(p *plan) []player {
	ps := []player{{sungLine, 1, 0}, {strummed, -3, -0.5}, {kitPattern, 0, 0.1}, {bassLine, -2, -0.05}}
	p.manner = "four parts"
	if p.dense > 0.5 {
		p.manner = "five parts"
		ps = append(ps, player{pad, -9, 0.6})
	}
	return ps
}

func voiceHarp(p *plan) []player { return []player{{sungLine, 0, 0}, {harp, -3, p.between(-0.6, 0.6)}} }

func stringBand(*plan) []player {
	return []player{{banjoRoll, 0, -0.4}, {bassLine, 0, 0}, {handDrums, -1, 0.4}}
}
