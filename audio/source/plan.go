package source

import (
	"math"
	"math/rand/v2"
	"slices"

	"slowneedle/audio"
)

// block is the length in frames of the steps in which levels are measured and
// gains are drawn. Every loop is a whole number of blocks long.
const block = 128

// plan is what the parts of one sound share: its length, tempo, key and
// temper, and the random stream they draw from.
type plan struct {
	rng    *rand.Rand
	d      Difficulty
	n      int     // length in frames
	beat   float64 // frames a beat
	beats  int     // beats in all
	key    float64 // the key note in hertz, 110 to 208
	minor  bool
	bright float64 // 0 dark to 1 bright
	dense  float64 // 0 sparse to 1 busy
	lively float64 // 0 even to 1 wide dynamics
	raw    bool    // as it comes from the microphone
	take   bool    // has form and an ending, goes round only for want of anything else
	swell  float64 // standard deviation of the swells of a raw sound, dB
	steady bool    // no events: unevenness is drawn as swells
	speech bool    // makes its own pauses
	member bool    // one player of an ensemble
	rests  []span  // rests in frames: asked for by the difficulty, and of a player in a take
	parts  []part  // of a take
	manner string  // how the kind is played, in a word

	phrase []float64 // gains of bars, in standard deviations

	step func() // called between slices of work, nil if all is done in one go
}

type span struct{ at, n int }

// part is a part of a take's form.
type part struct {
	at int     // first frame
	db float64 // level against the first part
}

// ending is the time at the end of a take in which nothing begins.
const ending = 1.5 // seconds

// newPlan draws a plan with a tempo from slow to fast beats a minute.
func newPlan(rng *rand.Rand, r Request, slow, fast float64) *plan {
	p := &plan{rng: rng, take: r.Seconds > 0}
	hold := func(v float64) float64 {
		if !(v > 0) {
			return 0
		}
		return min(1, v)
	}
	p.d = Difficulty{hold(r.Difficulty.Irregular), hold(r.Difficulty.Wander), hold(r.Difficulty.Pauses)}
	if fast <= 0 {
		slow, fast = 80, 140
	}
	bpm := p.between(slow, fast)
	bar := 4 * audio.Rate * 60 / bpm
	bars := math.Ceil(10.1 * audio.Rate / bar)
	if p.take {
		bars = math.Floor(r.Seconds * audio.Rate / bar)
	}
	p.beats = 4 * int(bars)
	p.n = int(math.Round(bars*bar/block)) * block
	p.beat = float64(p.n) / float64(p.beats)
	p.key = 110 * math.Exp2(float64(rng.IntN(12))/12)
	p.minor = rng.IntN(2) == 0
	p.bright, p.dense, p.lively = rng.Float64(), rng.Float64(), rng.Float64()
	// Two rests; each grows with the difficulty from a fixed start.
	const count = 2
	first := rng.IntN(p.beats)
	for i := range count {
		at := first + i*p.beats/count
		p.rests = append(p.rests, span{
			at: int(float64(at)*p.beat) % p.n,
			n:  int(p.d.Pauses * p.between(0.9, 1.2) * audio.Rate),
		})
	}
	for range p.beats / 4 {
		p.phrase = append(p.phrase, p.bell())
	}
	if p.take {
		// The first part lasts 12 s and what is left of its bar, the others 8 to 16.
		for at := 12 * float64(audio.Rate); at < float64(p.n)-6*audio.Rate; at += p.between(8, 16) * audio.Rate {
			p.parts = append(p.parts, part{int(math.Ceil(at/(4*p.beat)) * 4 * p.beat), 1.5 * p.bell()})
		}
	}
	return p
}

// length draws another length than the tempo gave, in seconds; that of a take
// stays.
func (p *plan) length(lo, hi float64) {
	if s := p.between(lo, hi); !p.take {
		p.n = int(s*audio.Rate/block) * block
	}
}

// last is the frame from which on nothing may begin.
func (p *plan) last() int {
	if p.take {
		return p.n - frames(ending)
	}
	return p.n
}

// player returns a plan of the same length, tempo and key with a stream of its
// own, for one player of an ensemble. In a take a player but the first is silent
// in one part of three.
func (p *plan) player(first bool) *plan {
	q := *p
	q.rng = rand.New(rand.NewPCG(p.rng.Uint64(), p.rng.Uint64()))
	q.bright, q.dense, q.lively = q.rng.Float64(), q.rng.Float64(), q.rng.Float64()
	q.manner, q.member = "", true
	if !first {
		q.rests = slices.Clone(p.rests)
		from := 0
		for _, next := range p.parts {
			if q.chance(0.33) {
				q.rests = append(q.rests, span{from, next.at - from})
			}
			from = next.at
		}
	}
	return &q
}

// loop is a loop of silence.
func (p *plan) loop() []float32 {
	p.pause()
	return make([]float32, p.n)
}

// pause marks a place at which the work can be interrupted.
func (p *plan) pause() {
	if p.step != nil {
		p.step()
	}
}

// between draws evenly from lo to hi.
func (p *plan) between(lo, hi float64) float64 { return lo + (hi-lo)*p.rng.Float64() }

// chance is true with the probability given.
func (p *plan) chance(of float64) bool { return p.rng.Float64() < of }

// pick draws one of the values.
func (p *plan) pick(of ...float64) float64 { return of[p.rng.IntN(len(of))] }

// one is that of the values which a share from 0 to 1 stands for.
func one[T any](share float64, of ...T) T { return of[min(len(of)-1, int(share*float64(len(of))))] }

// bell draws from a bell-shaped distribution of standard deviation 1 that ends
// at ±2.3: a normal one, drawn again beyond.
func (p *plan) bell() float64 {
	for {
		if v := p.rng.NormFloat64(); math.Abs(v) <= 2.3 {
			return v
		}
	}
}

// noise returns a fresh noise stream.
func (p *plan) noise() noise { return noise(p.rng.Uint32()) }

// accent returns the gain of one event: the player's own dynamics, wider as they
// come from the microphone, and the unevenness the difficulty asks for.
func (p *plan) accent() float64 {
	v := (0.6 + 1.2*p.lively) * p.bell()
	if p.raw {
		v *= 1.6
	}
	return audio.Gain(v) * p.uneven()
}

// phrasing is the gain of an event by its place: a player raises and lowers whole
// bars, by more than is left of it in finished sound.
func (p *plan) phrasing(at int) float64 {
	db := 2.0
	if p.raw {
		db = 3
	}
	return audio.Gain(db * p.phrase[int(float64(at)/(4*p.beat))%len(p.phrase)])
}

// uneven draws the gain of an event or a syllable that the difficulty asks for.
func (p *plan) uneven() float64 { return audio.Gain(irregularDB * p.d.Irregular * p.bell()) }

// irregularDB is the standard deviation of the hardest sounds' strokes and
// syllables, on top of the player's own.
const irregularDB = 3

// resting tells whether an event at a frame falls into a rest, or behind the end
// of a take.
func (p *plan) resting(at int) bool {
	if p.take && at >= p.last() {
		return true
	}
	for _, r := range p.rests {
		if (at-r.at+2*p.n)%p.n < r.n {
			return true
		}
	}
	return false
}

// play mixes one event into the loop unless it falls into a rest. The draw of
// its accent happens either way, so that rests change nothing else.
func (p *plan) play(loop, hit []float32, at, gain float64) { p.playCut(loop, hit, len(hit), at, gain) }

// playCut plays the first n frames of an event, stopped within 30 ms.
func (p *plan) playCut(loop, hit []float32, n int, at, gain float64) {
	p.pause()
	g := gain * p.accent()
	i := p.frame(at)
	if p.resting(i) {
		return
	}
	g *= p.phrasing(i)
	if n >= len(hit) {
		add(loop, hit, i, float32(g))
		return
	}
	tail := min(frames(0.03), n)
	add(loop, hit[:n-tail], i, float32(g))
	end := slices.Clone(hit[n-tail : n])
	fade(end, tail)
	add(loop, end, i+n-tail, float32(g))
}

// frame is the frame of an event, which a hand ahead of the beat does not bring
// before the start of a take.
func (p *plan) frame(at float64) int {
	if p.take {
		at = max(at, 0)
	}
	return int(at)
}

var (
	majorScale = [7]int{0, 2, 4, 5, 7, 9, 11}
	minorScale = [7]int{0, 2, 3, 5, 7, 8, 10}
)

// degree returns the frequency of a step of the key's scale, 0 the key note;
// steps below 0 and above 6 go on in the other octaves.
func (p *plan) degree(step int) float64 {
	oct := (step + 70) / 7 // so that it is none below 0
	scale := &majorScale
	if p.minor {
		scale = &minorScale
	}
	return p.key * math.Exp2(float64(oct-10)+float64(scale[step+70-7*oct])/12)
}

// chords returns four chord roots as scale steps.
func (p *plan) chords() [4]int {
	all := [][4]int{{0, 3, 4, 0}, {0, 5, 3, 4}, {0, 4, 5, 3}, {0, 2, 3, 4}, {0, 0, 3, 4}, {5, 3, 0, 4}, {0, 1, 4, 0}}
	return all[p.rng.IntN(len(all))]
}
