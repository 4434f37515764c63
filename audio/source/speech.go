package source

import (
	"math"

	"slowneedle/audio"
)

// vowels are formant frequencies of American English vowels spoken by men, in
// hertz (G. E. Peterson and H. L. Barney, "Control methods used in a study of
// the vowels", JASA 24, 1952; from memory).
var vowels = [][3]float64{
	{270, 2290, 3010}, {390, 1990, 2550}, {530, 1840, 2480}, {660, 1720, 2410}, {730, 1090, 2440},
	{570, 840, 2410}, {440, 1020, 2240}, {300, 870, 2240}, {640, 1190, 2390}, {490, 1350, 1690},
}

// shutMouth stands for a vowel that is hummed.
const shutMouth = -1

// What opens or closes a syllable.
const (
	open    = iota // none: the vowel itself
	hissing        // a hiss, as in "so"
	rushing        // a lower rush, as in "show"
	stop           // the mouth shut, then a burst
	nasal
	liquid
	onsets // how many there are
)

// leads is how long what opens a syllable lasts, seconds.
var leads = [onsets][2]float64{hissing: {0.06, 0.11}, rushing: {0.06, 0.11}, stop: {0.05, 0.08}, nasal: {0.04, 0.07}, liquid: {0.04, 0.07}}

// syllable is one syllable to speak.
type syllable struct {
	seconds   float64
	gap       float64 // seconds of rest at its end, of these
	onset     int
	coda      int
	vowel, to int     // the vowel, and the one it glides to
	loud      float64 // amplitude
	pitch     float64 // hertz
	vibrato   float64 // depth, relative
	sustained bool    // sung: the vowel holds its level
}

// mouth is what folds, breath and tract do at one moment.
type mouth struct {
	voice, breath, rush float64 // amplitudes: the folds' pulses, air through the tract, air at the teeth
	rushHz              float64 // where the air at the teeth sounds
	burst               bool    // that air comes at once
	pitch               float64
	f                   [4]float64 // formants, hertz
}

// want is what the mouth makes for in part of a syllable (open for its vowel),
// w of the way through that part. hiss and place are where its hiss and its
// burst sound.
func (s *syllable) want(sp speaker, part int, w, hiss, place float64) mouth {
	m := mouth{pitch: s.pitch, rushHz: hiss}
	if s.vowel == shutMouth {
		m.f = [4]float64{270 * sp.tract, 1100 * sp.tract, 2300 * sp.tract, 3500 * sp.tract}
	} else {
		for j := range 3 {
			a, b := vowels[s.vowel][j], vowels[s.to][j]
			m.f[j] = (a + (b-a)*min(1, 1.3*w)) * sp.tract
		}
		m.f[3] = 2900*sp.tract + 0.4*m.f[1] // what lies above follows the tongue a little
	}
	switch part {
	case open:
		// Up at once, down towards the next consonant.
		shape := min(1, 0.3+4*w) * (1 - 0.8*w*w)
		if s.sustained {
			shape = 1 - 0.2*w*w
		}
		// The folds' pulses meet a low first formant with more of their power.
		m.voice = s.loud * shape * math.Pow(m.f[0]/(500*sp.tract), 1.25)
		m.breath = sp.breath * m.voice
	case hissing, rushing:
		m.rush = 0.16 * s.loud
	case stop:
		if w > 0.75 {
			m.rush, m.rushHz, m.burst = 0.30*s.loud, place, true
		}
		m.f[0] *= 0.6
	case nasal:
		m.voice = 0.25 * s.loud
		m.f = [4]float64{270, 1100 * sp.tract, 2300, m.f[3]}
	case liquid:
		m.voice = 0.35 * s.loud
		m.f = [4]float64{360, 1050 * sp.tract, 2600, m.f[3]}
	}
	return m
}

// toward moves the mouth one hop towards what it makes for, each part of it as
// fast as it can: the folds within some 10 ms, the tract within 30.
func (m *mouth) toward(to mouth, pitchRate float64) {
	m.pitch += pitchRate * (to.pitch - m.pitch)
	for j := range m.f {
		m.f[j] += 0.07 * (to.f[j] - m.f[j])
	}
	m.voice += 0.16 * (to.voice - m.voice)
	m.breath += 0.2 * (to.breath - m.breath)
	attack := 0.1
	if to.burst || to.rush < m.rush {
		attack = 0.35
	}
	m.rush += attack * (to.rush - m.rush)
	if to.rush > 0 {
		m.rushHz = to.rushHz
	}
}

// whispered is the mouth with the folds at rest and air in their place.
func (m mouth) whispered() mouth {
	m.breath += 0.22 * m.voice
	m.voice = 0
	m.rush *= 0.35
	return m
}

const hop = 96 // frames between two moments: 2 ms

// track is a phrase as moments.
type track []mouth

// say lays the syllables out as moments.
func (p *plan) say(sp speaker, syl []syllable) track {
	const dt = hop / float64(audio.Rate)
	total := 0.12
	for _, s := range syl {
		total += s.seconds
	}
	t := make(track, 0, int(total/dt))
	m := mouth{pitch: sp.pitch, rushHz: 5000, f: [4]float64{500, 1500, 2500, 3500}}
	keep := func() {
		if sp.whisp {
			t = append(t, m.whispered())
		} else {
			t = append(t, m)
		}
	}
	phase := 0.0
	for _, s := range syl {
		lead, tail := 0.0, 0.0
		if s.onset != open {
			lead = p.between(leads[s.onset][0], leads[s.onset][1])
		}
		if s.coda != open {
			tail = p.between(0.04, 0.07)
		}
		lead, tail = min(lead, 0.4*s.seconds), min(tail, 0.3*s.seconds)
		place, hiss := p.between(1200, 4000), p.between(4500, 7000)
		if s.onset == rushing || s.coda == rushing {
			hiss = p.between(2200, 3400)
		}
		rate := 0.06
		if s.vibrato > 0 {
			rate = 0.53
		}
		for i := range int(s.seconds / dt) {
			u := float64(i) * dt
			part, w := s.onset, u/max(lead, dt)
			switch {
			case u >= s.seconds-tail-s.gap:
				part, w = s.coda, (u-s.seconds+tail+s.gap)/max(tail, dt)
			case u >= lead:
				part, w = open, (u-lead)/max(s.seconds-lead-tail-s.gap, dt)
			}
			to := s.want(sp, part, w, hiss, place)
			if u >= s.seconds-s.gap {
				to.voice, to.breath, to.rush = 0, 0, 0
			}
			phase += 2 * math.Pi * 5.6 * dt
			to.pitch *= 1 + s.vibrato*math.Sin(phase)
			m.toward(to, rate)
			keep()
		}
	}
	for len(t) < cap(t) { // release
		m.voice *= 0.9
		m.breath *= 0.9
		m.rush *= 0.8
		keep()
	}
	return t
}

const glottisSize = 1024

// glottis is one cycle of the derivative of the air flow through the vocal
// folds: a slow rise while they open, a quick turn as they close, then rest.
// It sums to zero.
var glottis = func() (t [glottisSize]float64) {
	sum := 0.0
	flow := func(u float64) float64 {
		switch {
		case u < 0.42:
			return 0.5 * (1 - math.Cos(math.Pi*u/0.42))
		case u < 0.62:
			return math.Cos(math.Pi / 2 * (u - 0.42) / 0.2)
		}
		return 0
	}
	for i := range t {
		// Averaged over 9 thousandths of a cycle, which rounds the closure off.
		const half = 0.0045
		u := float64(i) / glottisSize
		t[i] = (flow(u+half) - flow(u-half)) / (2 * half) / 6
		sum += t[i]
	}
	for i := range t {
		t[i] -= sum / glottisSize
	}
	return
}()

// formants are the filters of a voice's formants, their gains and both parts of them that
// stay while they move, see band.move.
func formants(bright float64) (f [6]band, g, c2, r [6]float64) {
	g = [6]float64{4, -4 * (0.55 + 0.2*bright), 4 * (0.25 + 0.2*bright), -4 * (0.10 + 0.15*bright), 4 * (0.12 + 0.16*bright), -4 * (0.08 + 0.12*bright)}
	for j, width := range [6]float64{65, 90, 140, 220, 500, 1500} {
		f[j].tune(1000, width)
		c2[j], r[j] = f[j].c2, math.Sqrt(-f[j].c2)
		g[j] *= f[j].g
	}
	return f, g, c2, r
}

// speak turns moments into sound: the folds' pulses and noise through four
// formants that move and two above them that follow the fourth, side by side, and a rush of air
// through one band.
func (t track) speak(p *plan, n noise, bright float64) []float32 {
	x := make([]float32, len(t)*hop)
	var air band
	ph := 0.0
	voice, breath, rush := 0.0, 0.0, 0.0
	f, g, c, r := formants(bright)
	g0, g1, g2, g3, g4, g5 := g[0], g[1], g[2], g[3], g[4], g[5]
	c0, c1, c2, c3, c4, c5 := c[0], c[1], c[2], c[3], c[4], c[5]
	var p0, p1, p2, p3, p4, p5, q0, q1, q2, q3, q4, q5 float64
	air.tune(1000, 1800)
	ra := math.Sqrt(-air.c2)
	wobble := 1.0
	var e1, e2, dull, hiss1, hiss2 float64 // a hiss falls by 12 dB an octave above 9 kHz
	for i := range t {
		if i%32 == 0 {
			p.pause()
		}
		to := &t[i]
		for j, hz := range [6]float64{to.f[0], to.f[1], to.f[2], to.f[3], 1.35 * to.f[3], 2.05 * to.f[3]} {
			f[j].move(hz, r[j])
		}
		b0, b1, b2, b3, b4, b5 := f[0].c1, f[1].c1, f[2].c1, f[3].c1, f[4].c1, f[5].c1
		air.move(to.rushHz, ra)
		step := to.pitch * glottisSize / audio.Rate
		dv, db, dr := (to.voice-voice)/hop, (to.breath-breath)/hop, (to.rush-rush)/hop
		rushing, noisy := rush+to.rush > 1e-4, breath+to.breath > 1e-4
		out := x[i*hop : (i+1)*hop]
		for k := range out {
			ph += step
			if ph >= glottisSize {
				ph -= glottisSize
				step *= 1 / wobble
				wobble = 1 + 0.012*n.next()
				step *= wobble
			}
			voice += dv
			e := voice * glottis[int(ph)&(glottisSize-1)]
			y := 0.0
			switch {
			case rushing:
				breath += db
				rush += dr
				w := n.next()
				e += breath * w
				dull += 0.3 * (breath*w - dull)
				hiss1 += 0.55 * (air.next(w) - hiss1)
				hiss2 += 0.55 * (hiss1 - hiss2)
				y = 6*rush*hiss2 + 0.3*dull
			case noisy:
				breath += db
				w := breath * n.next()
				e += w
				dull += 0.3 * (w - dull)
				y = 0.3 * dull
			}
			d := e - e2
			e2, e1 = e1, e
			p0, q0 = g0*d+c0*q0+b0*p0, p0
			p1, q1 = g1*d+c1*q1+b1*p1, p1
			p2, q2 = g2*d+c2*q2+b2*p2, p2
			p3, q3 = g3*d+c3*q3+b3*p3, p3
			p4, q4 = g4*d+c4*q4+b4*p4, p4
			p5, q5 = g5*d+c5*q5+b5*p5, p5
			out[k] = float32(y + p0 + p1 + p2 + p3 + p4 + p5)
		}
		voice, breath, rush = to.voice, to.breath, to.rush
	}
	return x
}
