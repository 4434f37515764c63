package source

import (
	"math"

	"slowneedle/audio"
)

// voiceKinds: speech-like and sung-like sounds. Common practice is an
// under-read of about 6 dB for a voice; close announcing lies below,
// conversation above.
var voiceKinds = []kind{
	{name: "read speech", weight: 3, finished: spread{6.2, 1.8}, raw: spread{10.5, 1.5}, seconds: [2]float64{10.2, 12.5}, make: readingVoice},
	{name: "announcer", weight: 2, finished: spread{5.8, 2.1}, raw: spread{10.5, 1.5}, seconds: [2]float64{10.2, 12}, make: announcer},
	{name: "conversation", weight: 3, finished: spread{6.7, 1.8}, raw: spread{10.5, 1.5}, seconds: [2]float64{10.5, 12.8}, make: conversation},
	{name: "sung line", weight: 2, finished: spread{5.2, 1.5}, raw: spread{10.5, 1.5}, slow: 84, fast: 120, make: sungLine},
	{name: "whisper", weight: 1, finished: spread{9.8, 1.8}, raw: spread{10.5, 1.5}, seconds: [2]float64{10.2, 12.5}, make: whisper},
	{name: "counting", weight: 1, reserved: true, finished: spread{6, 1.5}, raw: spread{10.5, 1.5}, seconds: [2]float64{10.2, 12.5}, make: counting},
	{name: "humming", weight: 1, reserved: true, finished: spread{5, 1.3}, raw: spread{9, 1.5}, slow: 76, fast: 110, make: humming},
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

// high draws whether a voice is high or low, and calls it so.
func (p *plan) high() bool {
	p.manner = "low"
	if p.chance(0.5) {
		p.manner = "high"
	}
	return p.manner == "high"
}

func (p *plan) speaker(high bool) speaker {
	s := speaker{pitch: p.between(95, 140), tract: p.between(0.96, 1.06), breath: p.between(0.03, 0.08),
		swing: p.between(0.15, 0.35), level: 1}
	if high {
		s.pitch, s.tract = p.between(170, 240), p.between(1.12, 1.2)
	}
	return s
}

// syllables makes one phrase's: every second one stressed, some third ones, the
// pitch falling towards the end.
func (p *plan) syllables(sp speaker, count int, rate float64) []syllable {
	syl := make([]syllable, count)
	next := p.rng.IntN(2)     // stressed syllable
	word := 1 + p.rng.IntN(3) // syllables left in the word
	for i := range syl {
		s := syllable{
			seconds: 1 / rate * p.between(0.75, 1),
			onset:   p.rng.IntN(onsets),
			vowel:   p.rng.IntN(len(vowels)),
			loud:    p.between(0.6, 0.85),
		}
		s.to = s.vowel
		if p.chance(0.3) {
			s.to = p.rng.IntN(len(vowels))
		}
		if p.chance(0.4) {
			s.coda = hissing + p.rng.IntN(onsets-1)
		}
		u := float64(i) / float64(count)
		oct := sp.swing * (0.4 - 0.6*u)
		if i == next {
			next += 2 + p.rng.IntN(6)/5
			s.seconds *= 1.3
			s.loud = p.between(0.85, 1)
			oct += 0.5 * sp.swing * p.rng.Float64()
		}
		if i == count-1 {
			s.seconds *= 1.3
			oct -= 0.3 * sp.swing
		}
		if word--; word == 0 {
			word = 1 + p.rng.IntN(3)
			s.gap = p.between(0.015, 0.045)
		}
		s.loud *= sp.level * math.Pow(p.uneven(), 0.7)
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

// put adds an utterance, unless it reaches behind the end of a take or, once round
// the loop, into the first one. In an ensemble it is left out if its middle falls
// into a rest.
func (l *line) put(t track, at int) {
	u, end := utterance{at, t, l.p.noise()}, at+len(t)*hop
	switch {
	case len(l.all) > 0 && end > l.all[0].at+l.p.n, l.p.take && end > l.p.last(), l.p.member && l.p.resting((at+len(t)*hop/2)%l.p.n):
		return
	}
	l.all = append(l.all, u)
}

// render speaks all utterances, which do not overlap.
func (l *line) render(x []float32) {
	var todo []func()
	for _, u := range l.all {
		todo = append(todo, func() {
			y := u.t.speak(l.p, u.n, l.p.bright)
			if !l.p.raw {
				rotate(y)
			}
			add(x, y, u.at, 1)
		})
	}
	l.p.together(todo...)
}

// rotate spreads the phases around 700 Hz, as the phase rotator ahead of a limiter
// does: the pulses of a voice stand out 1 dB less, its spectrum stays.
func rotate(x []float32) {
	const r = 0.985
	a1, a2 := -2*r*math.Cos(2*math.Pi*700/audio.Rate), r*r
	var x1, x2, y1, y2 float64
	for i, v := range x {
		w := float64(v)
		y := float64(a2*w) + float64(a1*x1) + x2 - float64(a2*y2) - float64(a1*y1)
		x2, x1, y2, y1 = x1, w, y1, y
		x[i] = float32(y)
	}
}

// talking is how speakers talk.
type talking struct {
	rate   float64    // syllables a second
	pause  [2]float64 // between phrases, seconds
	phrase int        // syllables of the shortest
	longer int        // the longest has so many more
}

var fluent = talking{pause: [2]float64{0.06, 0.24}, phrase: 6, longer: 8}

// at is the same at so many syllables a second.
func (how talking) at(rate float64) talking {
	how.rate = rate
	return how
}

// talk is what lay lays out, spoken.
func (p *plan) talk(x []float32, how talking, sps ...speaker) {
	p.speech = true
	p.lay(sps, how).render(x)
}

// lay fills the loop with phrases of the speakers in turn, and breaths between
// them.
func (p *plan) lay(sps []speaker, how talking) *line {
	l := &line{p: p}
	off := p.rng.IntN(p.n)
	if p.take {
		off = frames(0.2)
	}
	at := 0
	who := 0
	for {
		sp := sps[who%len(sps)]
		count, pace := how.phrase+p.rng.IntN(how.longer+1), p.between(0.93, 1.07)
		sp.level *= audio.Gain(36 * (pace - 1)) // who hurries speaks up
		t := p.say(sp, p.syllables(sp, count, how.rate*pace))
		still := p.between(how.pause[0], how.pause[1])
		if p.chance(0.4) {
			still += 0.8 * p.d.Pauses
		}
		pause := frames(still)
		air := p.inhale(sp, still-0.05)
		long := len(t) * hop
		if at+long+pause/2 > p.n {
			// One short phrase to fill up, if there is room for one.
			if room := float64(p.n-at-pause) / audio.Rate; room > 0.6 {
				l.put(p.say(sp, p.syllables(sp, max(2, int(room*how.rate*0.8)), how.rate*1.05)), at+off)
			}
			break
		}
		l.put(t, at+off)
		at += long + pause
		if len(air) > 0 {
			l.put(air, at-len(air)*hop+off)
		}
		who++
		if len(sps) > 1 && p.chance(0.25) {
			who++
		}
	}
	return l
}

// inhale is a breath taken before the next phrase, if there is time for one. A raw
// voice's is louder: nobody has taken it down.
func (p *plan) inhale(sp speaker, room float64) track {
	loud := sp.level * p.between(0.015, 0.04)
	if p.raw {
		loud *= 1.6
	}
	seconds := min(room, p.between(0.15, 0.35))
	if !p.chance(0.7) || seconds < 0.12 {
		return nil
	}
	t := make(track, int(seconds*audio.Rate/hop))
	for i := range t {
		t[i] = mouth{breath: loud * math.Sin(math.Pi*float64(i)/float64(len(t))), pitch: sp.pitch, rushHz: 5000,
			f: [4]float64{600 * sp.tract, 1700 * sp.tract, 2600 * sp.tract, 3500 * sp.tract}}
	}
	return t
}

// readingVoice: one speaker, phrases of four to nine syllables.
func readingVoice(p *plan, x []float32) {
	high := p.high()
	p.talk(x, fluent.at(p.between(4.9, 5.7)), p.speaker(high))
}

// announcer: one speaker close by, short pauses, the pitch held flat.
func announcer(p *plan, x []float32) {
	sp := p.speaker(p.chance(0.4))
	sp.swing *= 0.7
	p.manner = []string{"brisk", "calm"}[p.rng.IntN(2)]
	how := fluent.at(p.between(4.5, 5))
	if p.manner == "brisk" {
		how = fluent.at(p.between(5.4, 6.2))
	}
	how.pause = [2]float64{0.05, 0.18}
	p.talk(x, how, sp)
}

// conversation: two speakers in turn, one nearer than the other.
func conversation(p *plan, x []float32) {
	a, b := p.speaker(false), p.speaker(true)
	if p.chance(0.4) {
		b = p.speaker(p.chance(0.5))
		b.pitch *= 1.12
	}
	if d := p.between(-2, 2); d < 0 {
		a.level = audio.Gain(d)
	} else {
		b.level = audio.Gain(-d)
	}
	p.manner = "two voices"
	how := fluent.at(p.between(4.9, 5.7))
	how.phrase, how.longer = 3, 9
	p.talk(x, how, a, b)
}

// whisper: air alone, without the folds.
func whisper(p *plan, x []float32) {
	sp := p.speaker(p.chance(0.5))
	sp.whisp = true
	p.talk(x, fluent.at(p.between(4.2, 5.2)), sp)
}

// counting: one speaker, a word of one to three syllables at a time.
func counting(p *plan, x []float32) {
	sp := p.speaker(p.chance(0.5))
	p.talk(x, talking{rate: p.between(4.4, 5.4), pause: [2]float64{0.15, 0.3}, phrase: 1, longer: 2}, sp)
}

// humming is a sung line with the mouth shut.
func humming(p *plan, x []float32) { p.sung(x, true) }

func sungLine(p *plan, x []float32) { p.sung(x, false) }

// sung is a tune in the key, a syllable a note, vibrato on the long ones.
func (p *plan) sung(x []float32, shut bool) {
	p.speech = true
	oct := 1.0
	high := p.high()
	if high {
		oct = 2
	}
	sp := p.speaker(high)
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
				loud:  p.between(0.75, 1), pitch: oct * p.degree(step), vibrato: 0.004 + 0.008*float64(long), sustained: true,
			}
			if shut {
				s.vowel, s.onset = shutMouth, nasal
			}
			s.to = s.vowel
			s.loud *= math.Pow(p.uneven(), 0.7)
			syl = append(syl, s)
			beat += long
		}
		if len(syl) > 0 {
			l.put(p.say(sp, syl), int(float64(at)*p.beat/2))
		}
		beat += 1 + int(3*p.d.Pauses) + p.rng.IntN(2)
	}
	l.render(x)
}
