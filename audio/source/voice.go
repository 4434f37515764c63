package source

import (
	"math"

	"slowneedle/audio"
)

// voiceKinds: speech-like and sung-like sounds. Common practice is an
// under-read of about 6 dB for a voice; close announcing lies below,
// conversation above.
func voiceKinds() []kind {
	return []kind{
		{"reading voice", 3, 6, 1.6, 0, 0, readingVoice},
		{"announcer", 2, 5.2, 1.5, 0, 0, announcer},
		{"conversation", 3, 6.7, 1.6, 0, 0, conversation},
		{"sung line", 2, 5.2, 1.5, 84, 120, sungLine},
		{"whisper", 1, 8.5, 1.5, 0, 0, whisper},
	}
}

// vowels are formant frequencies of American English vowels spoken by men, in
// hertz (G. E. Peterson and H. L. Barney, "Control methods used in a study of
// the vowels", JASA 24, 1952; from memory).
var vowels = [][3]float64{
	{270, 2290, 3010}, {390, 1990, 2550}, {530, 1840, 2480}, {660, 1720, 2410}, {730, 1090, 2440},
	{570, 840, 2410}, {440, 1020, 2240}, {300, 870, 2240}, {640, 1190, 2390}, {490, 1350, 1690},
}

// speaker is one voice.
type speaker struct {
	pitch  float64 // hertz
	tract  float64 // formants against a man's: 1 to 1.2
	breath float64 // aspiration in the vowels
	range_ float64 // how far the pitch moves, octaves
	whisp  bool
	level  float64
}

func (p *plan) speaker(high bool) speaker {
	s := speaker{pitch: p.between(95, 140), tract: p.between(0.96, 1.06), breath: p.between(0.03, 0.08),
		range_: p.between(0.15, 0.35), level: 1}
	if high {
		s.pitch, s.tract = p.between(170, 240), p.between(1.12, 1.2)
	}
	return s
}

// onsets of syllables.
const (
	open = iota
	hissing
	rushing
	stop
	nasal
	liquid
	onsets
)

// syllable is one syllable to speak.
type syllable struct {
	seconds   float64
	onset     int
	vowel, to int     // the vowel, and the one it glides to
	loud      float64 // amplitude
	pitch     float64 // hertz
	vibrato   float64 // depth, relative
	coda      int     // onset kind that closes it, or open
	sustained bool    // sung: the vowel holds its level
}

const hop = 96 // frames a control step: 2 ms

// track is a phrase as control values, one a hop.
type track struct {
	voice, breath, rush []float64
	rushHz              []float64
	pitch               []float64
	f                   [4][]float64
}

// say lays the syllables out as control values.
func (p *plan) say(sp speaker, syl []syllable) *track {
	total := 0.0
	for _, s := range syl {
		total += s.seconds
	}
	m := int((total + 0.12) * audio.Rate / hop)
	t := &track{}
	for _, a := range []*[]float64{&t.voice, &t.breath, &t.rush, &t.rushHz, &t.pitch, &t.f[0], &t.f[1], &t.f[2], &t.f[3]} {
		*a = make([]float64, m)
	}
	const dt = hop / float64(audio.Rate)
	i := 0
	at := 0.0
	phase := 0.0
	f := [4]float64{500, 1500, 2500, 3500}
	pitch := sp.pitch
	voice, breath, rush := 0.0, 0.0, 0.0
	rushHz := 5000.0
	for _, s := range syl {
		lead, tail := 0.0, 0.0
		switch s.onset {
		case hissing, rushing:
			lead = p.between(0.06, 0.11)
		case stop:
			lead = p.between(0.05, 0.08)
		case nasal, liquid:
			lead = p.between(0.04, 0.07)
		}
		if s.coda != open {
			tail = p.between(0.04, 0.07)
		}
		lead, tail = min(lead, 0.4*s.seconds), min(tail, 0.3*s.seconds)
		place := p.between(1200, 4000)
		hiss := p.between(4500, 7000)
		if s.onset == rushing || s.coda == rushing {
			hiss = p.between(2200, 3400)
		}
		a, b := vowels[s.vowel], vowels[s.to]
		for u := 0.0; u < s.seconds && i < m; u, at, i = u+dt, at+dt, i+1 {
			part := s.onset
			w := u / max(lead, dt) // progress in the part, 0 to 1
			switch {
			case u >= s.seconds-tail:
				part, w = s.coda, (u-s.seconds+tail)/max(tail, dt)
			case u >= lead:
				part, w = open, (u-lead)/max(s.seconds-lead-tail, dt)
			}
			var tv, tb, tr float64
			var tf [3]float64
			for j := range tf {
				tf[j] = (a[j] + (b[j]-a[j])*min(1, 1.3*w)) * sp.tract
			}
			switch part {
			case open:
				// Up at once, down towards the next consonant.
				shape := min(1, 0.3+4*w) * (1 - 0.8*w*w)
				if s.sustained {
					shape = 1 - 0.2*w*w
				}
				tv = s.loud * shape
				tb = sp.breath * tv
			case hissing, rushing:
				tr = 0.16 * s.loud
				rushHz = hiss
			case stop:
				if w > 0.75 {
					tr, rushHz = 0.30*s.loud, place
				}
				tf[0] *= 0.6
			case nasal:
				tv = 0.25 * s.loud
				tf = [3]float64{270, 1100 * sp.tract, 2300}
			case liquid:
				tv = 0.35 * s.loud
				tf = [3]float64{360, 1050 * sp.tract, 2600}
			}
			phase += 2 * math.Pi * 5.6 * dt
			target := s.pitch * (1 + s.vibrato*math.Sin(phase))
			pitch += 0.06 * (target - pitch)
			if s.vibrato > 0 {
				pitch += 0.5 * (target - pitch)
			}
			for j := range tf {
				f[j] += 0.07 * (tf[j] - f[j])
			}
			f[3] = 3500 * sp.tract
			voice += 0.16 * (tv - voice)
			breath += 0.2 * (tb - breath)
			rush += 0.35 * (tr - rush)
			t.voice[i], t.breath[i], t.rush[i], t.rushHz[i], t.pitch[i] = voice, breath, rush, rushHz, pitch
			if sp.whisp {
				t.breath[i] += 0.22 * voice
				t.voice[i] = 0
				t.rush[i] *= 0.35
			}
			for j := range f {
				t.f[j][i] = f[j]
			}
		}
	}
	for ; i < m; i++ {
		voice *= 0.9
		breath *= 0.9
		rush *= 0.8
		t.voice[i], t.breath[i], t.rush[i], t.rushHz[i], t.pitch[i] = voice, breath, rush, rushHz, pitch
		if sp.whisp {
			t.breath[i] += 0.22 * voice
			t.voice[i] = 0
		}
		for j := range f {
			t.f[j][i] = f[j]
		}
	}
	return t
}

const glottisSize = 1024

// glottis is one cycle of the derivative of the air flow through the vocal
// folds: a slow rise while they open, a quick turn as they close, then rest.
// Its mean is nothing.
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
		// Averaged over 24 ms parts of a thousand, which rounds the closure off.
		u := float64(i) / glottisSize
		t[i] = (flow(u+0.012) - flow(u-0.012)) / 0.024 / 6
		sum += t[i]
	}
	for i := range t {
		t[i] -= sum / glottisSize
	}
	return
}()

// speak turns control values into sound: the folds' pulses and noise through
// four formants side by side, a rush of air through one band, and a little of
// the bare pulses for their edge. It writes over x, which is as long as the track.
func (t *track) speak(x []float32, n noise, bright float64) {
	var f [4]band
	var air band
	ph := 0.0
	voice, breath, rush := 0.0, 0.0, 0.0
	gain := [4]float64{4, -4 * (0.55 + 0.2*bright), 4 * (0.25 + 0.2*bright), -4 * (0.10 + 0.15*bright)}
	var r [4]float64
	for j, width := range [4]float64{110, 130, 180, 280} {
		f[j].tune(1000, width)
		r[j] = math.Sqrt(-f[j].c2)
	}
	air.tune(1000, 1800)
	ra := math.Sqrt(-air.c2)
	wobble := 1.0
	var e1, e2 float64
	for i := range t.voice {
		for j := range f {
			f[j].move(t.f[j][i], r[j])
		}
		air.move(t.rushHz[i], ra)
		step := t.pitch[i] * glottisSize / audio.Rate
		dv, db, dr := (t.voice[i]-voice)/hop, (t.breath[i]-breath)/hop, (t.rush[i]-rush)/hop
		noisy := breath+t.breath[i] > 1e-4 || rush+t.rush[i] > 1e-4
		g0, g1, g2, g3 := gain[0]*f[0].g, gain[1]*f[1].g, gain[2]*f[2].g, gain[3]*f[3].g
		b0, b1, b2, b3 := f[0].c1, f[1].c1, f[2].c1, f[3].c1
		c0, c1, c2, c3 := f[0].c2, f[1].c2, f[2].c2, f[3].c2
		p0, p1, p2, p3 := f[0].y1, f[1].y1, f[2].y1, f[3].y1
		q0, q1, q2, q3 := f[0].y2, f[1].y2, f[2].y2, f[3].y2
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
			if noisy {
				breath += db
				rush += dr
				w := n.next()
				e += breath * w
				y = (4*rush + breath) * air.next(w)
			}
			d := e - e2
			y += 0.02 * (e - e1)
			e2, e1 = e1, e
			p0, q0 = g0*d+c0*q0+b0*p0, p0
			p1, q1 = g1*d+c1*q1+b1*p1, p1
			p2, q2 = g2*d+c2*q2+b2*p2, p2
			p3, q3 = g3*d+c3*q3+b3*p3, p3
			out[k] = float32(y + p0 + p1 + p2 + p3)
		}
		f[0].y1, f[1].y1, f[2].y1, f[3].y1 = p0, p1, p2, p3
		f[0].y2, f[1].y2, f[2].y2, f[3].y2 = q0, q1, q2, q3
		voice, breath, rush = t.voice[i], t.breath[i], t.rush[i]
	}
}

// syllables makes one phrase's: about four a second, stress on two in five, the
// pitch falling towards the end.
func (p *plan) syllables(sp speaker, count int, rate float64) []syllable {
	syl := make([]syllable, count)
	for i := range syl {
		stress := p.chance(0.4)
		s := syllable{
			seconds: 1 / rate * p.between(0.75, 1.1),
			onset:   p.rng.IntN(onsets),
			vowel:   p.rng.IntN(len(vowels)),
			loud:    p.between(0.6, 0.85),
		}
		s.to = s.vowel
		if p.chance(0.3) {
			s.to = p.rng.IntN(len(vowels))
		}
		if p.chance(0.3) {
			s.coda = hissing + p.rng.IntN(onsets-1)
		}
		u := float64(i) / float64(count)
		oct := sp.range_ * (0.5 - 0.8*u)
		if stress {
			s.seconds *= 1.12
			s.loud = p.between(0.85, 1)
			oct += 0.5 * sp.range_ * p.rng.Float64()
		}
		if i == count-1 {
			s.seconds *= 1.3
			oct -= 0.3 * sp.range_
		}
		s.loud *= sp.level * audio.Gain(7*p.d.Irregular*p.bell())
		s.pitch = sp.pitch * math.Exp2(oct)
		syl[i] = s
	}
	return syl
}

// line is phrases laid out over the loop, rendered side by side.
type line struct {
	p   *plan
	all []utterance
}

type utterance struct {
	at int
	t  *track
	n  noise
}

// put adds an utterance. In an ensemble it is left out if its middle falls into
// a rest of all players.
func (l *line) put(t *track, at int) {
	u := utterance{at, t, l.p.noise()}
	if !l.p.member || !l.p.resting((at+len(t.voice)*hop/2)%l.p.n) {
		l.all = append(l.all, u)
	}
}

// render speaks all utterances, which do not overlap.
func (l *line) render(bright float64) []float32 {
	x := l.p.loop()
	half := func(from int) func() {
		return func() {
			for i := from; i < len(l.all); i += 2 {
				u := l.all[i]
				n := len(u.t.voice) * hop
				if at := u.at % len(x); at+n <= len(x) {
					u.t.speak(x[at:at+n], u.n, bright)
					continue
				}
				y := make([]float32, n)
				u.t.speak(y, u.n, bright)
				add(x, y, u.at, 1)
			}
		}
	}
	together(half(0), half(1))
	return x
}

// talk fills the loop with phrases of the speakers in turn.
func (p *plan) talk(sps []speaker, rate, pauseLo, pauseHi float64) []float32 {
	p.speech = true
	l := &line{p: p}
	off := p.rng.IntN(p.n)
	at := 0
	who := 0
	for {
		count := 4 + p.rng.IntN(6)
		sp := sps[who%len(sps)]
		if len(sps) > 1 {
			count = 2 + p.rng.IntN(8)
		}
		t := p.say(sp, p.syllables(sp, count, rate*p.between(0.93, 1.07)))
		pause := frames(p.between(pauseLo, pauseHi) * (1 + 4*p.d.Pauses))
		long := len(t.voice) * hop
		if at+long+pause/2 > p.n {
			// One short phrase to fill up, if there is room for one.
			if room := float64(p.n-at-pause) / audio.Rate; room > 0.9 {
				l.put(p.say(sp, p.syllables(sp, max(2, int(room*rate*0.8)), rate*1.05)), at+off)
			}
			break
		}
		l.put(t, at+off)
		at += long + pause
		who++
		if len(sps) > 1 && p.chance(0.25) {
			who++
		}
	}
	return l.render(p.bright)
}

func (p *plan) length(seconds float64) {
	p.n = int(seconds*audio.Rate/block) * block
}

func readingVoice(p *plan) []float32 {
	p.length(p.between(10.2, 12.5))
	high := p.chance(0.5)
	p.manner = "low"
	if high {
		p.manner = "high"
	}
	return p.talk([]speaker{p.speaker(high)}, p.between(3.7, 4.6), 0.25, 0.6)
}

func announcer(p *plan) []float32 {
	p.length(p.between(10.2, 12))
	sp := p.speaker(p.chance(0.4))
	sp.range_ *= 0.7
	p.lively *= 0.5
	p.manner = []string{"brisk", "calm"}[p.rng.IntN(2)]
	rate := p.between(3.6, 4)
	if p.manner == "brisk" {
		rate = p.between(4.4, 5)
	}
	return p.talk([]speaker{sp}, rate, 0.12, 0.35)
}

func conversation(p *plan) []float32 {
	p.length(p.between(10.5, 12.8))
	a, b := p.speaker(false), p.speaker(true)
	if p.chance(0.4) {
		b = p.speaker(p.chance(0.5))
		b.pitch *= 1.12
	}
	if d := p.between(-4, 4); d < 0 {
		a.level = audio.Gain(d)
	} else {
		b.level = audio.Gain(-d)
	}
	p.manner = "two voices"
	return p.talk([]speaker{a, b}, p.between(3.8, 4.7), 0.3, 0.9)
}

func whisper(p *plan) []float32 {
	p.length(p.between(10.2, 12.5))
	sp := p.speaker(p.chance(0.5))
	sp.whisp = true
	return p.talk([]speaker{sp}, p.between(3.4, 4.2), 0.3, 0.6)
}

// sungLine: a tune in the key, a syllable a note, vibrato on the long ones.
func sungLine(p *plan) []float32 {
	p.speech = true
	high := p.chance(0.5)
	sp := p.speaker(high)
	p.manner = []string{"low", "high"}[b2i(high)]
	oct := 1.0
	if high {
		oct = 2
	}
	l := &line{p: p}
	half := p.beat / 2 / audio.Rate
	step := p.rng.IntN(5)
	for beat := 0; beat < p.beats*2-2; {
		count := 5 + p.rng.IntN(5)
		var syl []syllable
		at := beat
		for range count {
			long := []int{1, 1, 1, 2, 2}[p.rng.IntN(5)]
			if len(syl) == count-1 {
				long = 3
			}
			if beat+long > p.beats*2-1 {
				break
			}
			step = max(-2, min(7, step+p.rng.IntN(5)-2))
			s := syllable{
				seconds: float64(long) * half, vowel: p.rng.IntN(len(vowels)),
				onset: []int{open, nasal, liquid, stop, hissing, liquid}[p.rng.IntN(6)],
				loud:  p.between(0.65, 1), pitch: oct * p.degree(step), vibrato: 0.004 + 0.008*float64(long), sustained: true,
			}
			s.to = s.vowel
			s.loud *= audio.Gain(4 * p.d.Irregular * p.bell())
			syl = append(syl, s)
			beat += long
		}
		if len(syl) > 0 {
			l.put(p.say(sp, syl), int(float64(at)*p.beat/2))
		}
		beat += 1 + int(6*p.d.Pauses) + p.rng.IntN(2)
	}
	return l.render(p.bright)
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
