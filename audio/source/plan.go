package source

import (
	"math"
	"math/rand/v2"

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
	n      int     // loop length in frames
	beat   float64 // frames a beat
	beats  int     // beats a loop
	key    float64 // the key note in hertz, 110 to 208
	minor  bool
	bright float64 // 0 dark to 1 bright
	dense  float64 // 0 sparse to 1 busy
	lively float64 // 0 even to 1 wide dynamics
	steady bool    // no events: unevenness is drawn as swells
	speech bool    // makes its own pauses
	member bool    // one player of an ensemble
	rests  []span  // rests asked for by the difficulty, in frames
	store  *store  // what scratch has handed out
	parts  []*plan // players made from this plan
	manner string  // how the kind is played, in a word
}

type span struct{ at, n int }

// newPlan draws a plan with a tempo from slow to fast beats a minute.
func newPlan(rng *rand.Rand, d Difficulty, slow, fast float64) *plan {
	p := &plan{rng: rng}
	hold := func(v float64) float64 {
		if !(v > 0) {
			return 0
		}
		return min(1, v)
	}
	p.d = Difficulty{hold(d.Irregular), hold(d.Wander), hold(d.Pauses)}
	if fast <= 0 {
		slow, fast = 80, 140
	}
	bpm := p.between(slow, fast)
	frames := audio.Rate * 60 / bpm
	p.beats = 4 * int(math.Ceil(10.1*audio.Rate/frames/4))
	p.n = int(math.Round(float64(p.beats)*frames/block)) * block
	p.beat = float64(p.n) / float64(p.beats)
	p.key = 110 * math.Exp2(float64(rng.IntN(12))/12)
	p.minor = rng.IntN(2) == 0
	p.bright, p.dense, p.lively = rng.Float64(), rng.Float64(), rng.Float64()
	// Two or three rests; each grows with the difficulty from a fixed start.
	count := 2 + rng.IntN(2)
	first := rng.IntN(p.beats)
	for i := range count {
		at := first + i*p.beats/count
		p.rests = append(p.rests, span{
			at: int(float64(at)*p.beat) % p.n,
			n:  int(0.5 * p.d.Pauses * float64(p.n) / float64(count)),
		})
	}
	return p
}

// part returns a plan of the same length, tempo and key with a stream of its
// own, for one player of an ensemble.
func (p *plan) part() *plan {
	q := *p
	q.rng = rand.New(rand.NewPCG(p.rng.Uint64(), p.rng.Uint64()))
	q.bright, q.dense, q.lively = q.rng.Float64(), q.rng.Float64(), q.rng.Float64()
	q.manner, q.member = "", true
	q.store, q.parts = nil, nil
	p.parts = append(p.parts, &q)
	return &q
}

// between draws evenly from lo to hi.
func (p *plan) between(lo, hi float64) float64 { return lo + (hi-lo)*p.rng.Float64() }

// chance is true with the probability given.
func (p *plan) chance(of float64) bool { return p.rng.Float64() < of }

// pick draws one of the values.
func (p *plan) pick(of ...float64) float64 { return of[p.rng.IntN(len(of))] }

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

// accent returns the gain of one event: the player's own dynamics, and the
// unevenness the difficulty asks for.
func (p *plan) accent() float64 {
	v := p.bell()
	w := p.bell()
	return audio.Gain((0.6+1.2*p.lively)*v + 7*p.d.Irregular*w)
}

// resting tells whether an event at a frame falls into a rest.
func (p *plan) resting(at int) bool {
	for _, r := range p.rests {
		if (at-r.at+2*p.n)%p.n < r.n {
			return true
		}
	}
	return false
}

// play mixes one event into the loop unless it falls into a rest. The draw of
// its accent happens either way, so that rests change nothing else.
func (p *plan) play(loop, hit []float32, at, gain float64) {
	g := gain * p.accent()
	if i := int(at); !p.resting(i) {
		add(loop, hit, i, float32(g))
	}
}

var (
	majorScale = [7]int{0, 2, 4, 5, 7, 9, 11}
	minorScale = [7]int{0, 2, 3, 5, 7, 8, 10}
)

// degree returns the frequency of a step of the key's scale, 0 the key note;
// steps below 0 and above 6 go on in the other octaves.
func (p *plan) degree(step int) float64 {
	oct := step / 7
	if step%7 < 0 {
		oct--
	}
	s := majorScale[step-7*oct]
	if p.minor {
		s = minorScale[step-7*oct]
	}
	return p.key * math.Exp2(float64(oct)+float64(s)/12)
}

// chords returns four chord roots as scale steps.
func (p *plan) chords() [4]int {
	all := [][4]int{{0, 3, 4, 0}, {0, 5, 3, 4}, {0, 4, 5, 3}, {0, 2, 3, 4}, {0, 0, 3, 4}, {5, 3, 0, 4}, {0, 1, 4, 0}}
	return all[p.rng.IntN(len(all))]
}
