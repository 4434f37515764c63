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
		{"read speech", 3, 6, 1.6, 0, 0, readingVoice},
		{"announcer", 2, 5.2, 1.5, 0, 0, announcer},
		{"conversation", 3, 6.7, 1.6, 0, 0, conversation},
		{"sung line", 2, 5.2, 1.5, 84, 120, sungLine},
		{"whisper", 1, 8.5, 1.5, 0, 0, whisper},
	}
}

// speaker is one voice.
type speaker struct {
	pitch  float64 // hertz
	tract  float64 // formants against a man's: 1 to 1.2
	breath float64 // aspiration in the vowels
	swing  float64 // how far the pitch moves, octaves
	level  float64 // amplitude
	whisp  bool
}

func (p *plan) speaker(high bool) speaker {
	s := speaker{pitch: p.between(95, 140), tract: p.between(0.96, 1.06), breath: p.between(0.03, 0.08),
		swing: p.between(0.15, 0.35), level: 1}
	if high {
		s.pitch, s.tract = p.between(170, 240), p.between(1.12, 1.2)
	}
	return s
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
		oct := sp.swing * (0.5 - 0.8*u)
		if stress {
			s.seconds *= 1.12
			s.loud = p.between(0.85, 1)
			oct += 0.5 * sp.swing * p.rng.Float64()
		}
		if i == count-1 {
			s.seconds *= 1.3
			oct -= 0.3 * sp.swing
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
	t  track
	n  noise
}

// put adds an utterance. In an ensemble it is left out if its middle falls into
// a rest of all players.
func (l *line) put(t track, at int) {
	u := utterance{at, t, l.p.noise()}
	if !l.p.member || !l.p.resting((at+len(t)*hop/2)%l.p.n) {
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
				n := len(u.t) * hop
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
		long := len(t) * hop
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

// length sets another length than the tempo gave.
func (p *plan) length(seconds float64) {
	p.n = int(seconds*audio.Rate/block) * block
}

// readingVoice: one speaker, phrases of four to nine syllables.
func readingVoice(p *plan) []float32 {
	p.length(p.between(10.2, 12.5))
	high := p.chance(0.5)
	p.manner = "low"
	if high {
		p.manner = "high"
	}
	return p.talk([]speaker{p.speaker(high)}, p.between(3.7, 4.6), 0.25, 0.6)
}

// announcer: one speaker close by, short pauses, the pitch held flat.
func announcer(p *plan) []float32 {
	p.length(p.between(10.2, 12))
	sp := p.speaker(p.chance(0.4))
	sp.swing *= 0.7
	p.manner = []string{"brisk", "calm"}[p.rng.IntN(2)]
	rate := p.between(3.6, 4)
	if p.manner == "brisk" {
		rate = p.between(4.4, 5)
	}
	return p.talk([]speaker{sp}, rate, 0.12, 0.35)
}

// conversation: two speakers in turn, one nearer than the other.
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

// whisper: air alone, without the folds.
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
	oct := 1.0
	p.manner = "low"
	if high {
		oct, p.manner = 2, "high"
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
			s.loud *= audio.Gain(7 * p.d.Irregular * p.bell())
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
