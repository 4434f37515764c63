package source

import (
	"math"
	"slices"

	"slowneedle/audio"
)

// ensembleKinds: two to five of the other families balanced. Between the
// voice's and the drums' under-read: 8 to 11 dB.
var ensembleKinds = []kind{
	{name: "voice and guitar", weight: 2, finished: spread{8.5, 1.5}, raw: spread{8.5, 1.5}, slow: 84, fast: 120, players: []player{
		{make: sungLine}, {make: strummed, db: -3, aside: 0.6}}},
	{name: "bass and drums", weight: 2, finished: spread{11, 1.6}, raw: spread{11, 1.5}, slow: 84, fast: 130, players: []player{
		{make: kitPattern, pan: 0.1}, {make: bassLine, pan: -0.1}}},
	{name: "guitar with pad and drums", weight: 2, finished: spread{10.5, 1.6}, raw: spread{10.5, 1.5}, slow: 84, fast: 130, players: []player{
		{make: kitPattern, pan: 0.1}, {make: picked, pan: -0.5, aside: 0.2}, {make: pad, db: -8, pan: 0.4}}},
	{name: "voice over a bed", weight: 2, finished: spread{8, 1.5}, raw: spread{8, 1.5}, slow: 84, fast: 120, players: []player{
		{make: speech}, {make: pad, db: -12, pan: 0.4}, {make: picked, db: -8, pan: -0.5}}},
	{name: "band", weight: 2, finished: spread{9.8, 1.5}, raw: spread{9.8, 1.5}, slow: 90, fast: 126, players: []player{
		{make: sungLine, db: 1}, {make: strummed, db: -3, pan: -0.5}, {make: kitPattern, pan: 0.1}, {make: bassLine, db: -2, pan: -0.05}, {make: pad, db: -9, pan: 0.6, busy: 0.5}}},
	{name: "voice and harp", weight: 1, reserved: true, finished: spread{8.5, 1.5}, raw: spread{8.5, 1.5}, slow: 76, fast: 110, players: []player{
		{make: sungLine}, {make: harp, db: -3, aside: 0.6}}},
	{name: "banjo with bass and hand drums", weight: 1, reserved: true, finished: spread{10.5, 1.5}, raw: spread{10.5, 1.5}, slow: 90, fast: 130, players: []player{
		{make: banjoRoll, pan: -0.4}, {make: bassLine}, {make: handDrums, db: -1, pan: 0.4}}},
}

// player is one part of an ensemble.
type player struct {
	make  func(p *plan, x []float32)
	db    float64 // level by the needle
	pan   float64 // place: -1 left to 1 right
	aside float64 // how far the place is drawn to either side
	busy  float64 // it is silent where the music is no busier than this, 0 to 1
}

// balance plays several parts together on two channels, each brought to a level by
// its needle reading and put in its place, in a room that sends an echo of each
// side to the other. What is in the middle is as loud in both, so that the sum of the
// channels keeps every part. Players are made two at a time, which bounds the memory.
func (p *plan) balance(all []player) [][]float32 {
	var ps []player
	for _, pl := range all {
		if pl.aside > 0 {
			pl.pan = p.between(pl.pan-pl.aside, pl.pan+pl.aside)
		}
		if pl.busy == 0 || p.dense > pl.busy {
			ps = append(ps, pl)
		}
	}
	p.manner = []string{4: "four parts", 5: "five parts"}[len(ps)]
	left, right := p.loop(), p.loop()
	made, level := [2][]float32{p.loop(), p.loop()}, [2]float64{}
	for first := true; len(ps) > 0; first = false {
		now := ps[:min(2, len(ps))]
		ps = ps[len(now):]
		var todo []func()
		for i, pl := range now {
			q := p.player(first && i == 0)
			clear(made[i])
			level[i] = audio.Gain(pl.db + p.between(-1.5, 1.5))
			todo = append(todo, func() {
				pl.make(q, made[i])
				if l := q.measure(made[i]); slices.Max(l.peak) > 0 {
					level[i] /= l.deflection(ones(len(l.mean)))
				}
			})
		}
		p.together(todo...)
		for i, pl := range now {
			// Equal power: what is off the middle is up to 3 dB louder on its side.
			sin, cos := math.Sincos((1 + pl.pan) * math.Pi / 4)
			add(left, made[i], 0, float32(level[i]*cos))
			p.pause()
			add(right, made[i], 0, float32(level[i]*sin))
			p.pause()
		}
	}
	wet := p.pick(-1, 1) * 0.15
	if p.raw {
		wet *= 2 // nobody has made the room smaller
	}
	add(left, right, frames(p.between(0.009, 0.014)), float32(wet))
	p.pause()
	add(right, left, frames(p.between(0.015, 0.023)), float32(wet))
	return [][]float32{left, right}
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
	how := fluent.at(p.between(4.6, 5.5))
	how.pause = [2]float64{0.15, 0.5}
	p.talk(x, how, p.speaker(p.chance(0.5)))
}
