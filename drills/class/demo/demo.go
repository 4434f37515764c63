// Package demo makes a class of invented learners: the Tuesday evening class of
// Radio Wrenfold, a community station that does not exist. Aliases, biases and
// takes are invented; nobody's ears were measured.
//
// Everything follows from a seed, so that a report on the class can be compared
// with what was put in.
package demo

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// Title is what the class calls itself.
const Title = "Radio Wrenfold, Tuesday evening class"

// Learner is one of the class and how they set levels.
type Learner struct {
	Who      string
	BiasDB   map[source.Family]float64 // where they stop, hot is positive
	SpreadDB float64                   // standard deviation around it
	Brisk    float64                   // how fast they work: 1 is usual, 2 twice as fast
	Rounds   int                       // at which they have to leave; 0: they stay
}

// Sheet is the demonstration sheet: set the take, five rounds of each
// family.
func Sheet(seed uint64) sheet.Sheet {
	s := sheet.New(uint32(seed*2654435761+4711) & sheet.MaxSeed)
	s.Rounds, s.Level, s.ToleranceDB = 25, 3, 1.5
	return s
}

var (
	firsts = strings.Fields("Quiet Brass Tin Paper Copper Midnight Lantern Salt Velvet Harbour Pocket Marble " +
		"Ginger Rusty Winter Thistle Cinder Walnut Drizzle Clover Pebble Amber Hollow Mustard")
	seconds = strings.Fields("Kettle Moth Heron Button Rake Teasel Compass Plover Bramble Anchor Sparrow Ladder " +
		"Thimble Otter Meadow Whistle Barrow Pigeon Candle Ferret Saddle Cobbler Newt Mitten")
)

// alias returns the nth alias; the first 576 are two words each, then they are
// numbered.
func alias(n int) string {
	a, b := len(firsts), len(seconds)
	k := n % (a * b)
	name := firsts[k%a] + " " + seconds[(k%a*7+k/a)%b]
	if n >= a*b {
		name += fmt.Sprintf(" %d", n/(a*b)+1)
	}
	return name
}

// usual is where the usual learner stops.
var usual = map[source.Family]float64{source.Steady: 0.1, source.Voice: -0.7, source.Plucked: 0.8, source.Struck: 2, source.Ensemble: -0.3}

// Class makes n learners from a seed. As beginners do, most leave struck and
// plucked sources too hot, following the needle, and are careful with voices;
// each has a way of their own about that.
func Class(seed uint64, n int) []Learner {
	rng := rand.New(rand.NewPCG(seed, 0xC1A55))
	own := map[source.Family]float64{source.Steady: 0.3, source.Voice: 0.7, source.Plucked: 0.8, source.Struck: 1.2, source.Ensemble: 0.9}
	class := make([]Learner, n)
	for i := range class {
		l := Learner{Who: alias(i), BiasDB: make(map[source.Family]float64)}
		for _, f := range source.Generated() {
			l.BiasDB[f] = math.Round(10*(usual[f]+own[f]*rng.NormFloat64())) / 10
		}
		l.SpreadDB = math.Round(10*(0.6+1.2*rng.Float64())) / 10
		l.Brisk = 0.7 + 0.8*rng.Float64()
		class[i] = l
	}
	return class
}

// Seat is a class at work on a sheet: the rounds and what most of the class
// makes of each.
type Seat struct {
	Bench *handin.RoundCache
	Sheet sheet.Sheet
	shift []float64 // dB that a round pulls everybody from their bias
	trap  int       // the round that is misunderstood, or -1
}

// NewSeat makes the rounds of a sheet ready.
//
// One round is misunderstood: where the needle alone leads a few decibels astray
// the usual learner follows it, and as a needle is easier to hit than a judgement,
// by half the usual spread. The others of its family are left a little colder for
// it, so that biases by family stay what they are.
func NewSeat(bench *handin.RoundCache, s sheet.Sheet) (*Seat, error) {
	seat := &Seat{Bench: bench, Sheet: s, shift: make([]float64, s.Rounds), trap: -1}
	rounds := make(map[source.Family][]int)
	astray := make([]float64, s.Rounds)
	for i := range s.Rounds {
		r, err := exercise(bench, s, i)
		if err != nil {
			return nil, err
		}
		rounds[r.Family] = append(rounds[r.Family], i)
		astray[i] = r.Rig.TargetVU - r.Channels[0].ReadingVU - r.Channels[0].AimDB
	}
	best, family := -1, source.Family("")
	for _, f := range source.Generated() {
		for _, i := range rounds[f] {
			if len(rounds[f]) >= 3 && (best < 0 || math.Abs(astray[i]-goodTrap) < math.Abs(astray[best]-goodTrap)) {
				best, family = i, f
			}
		}
	}
	if best < 0 {
		return seat, nil
	}
	pull := min(max(astray[best]-usual[family], 0), goodTrap)
	for _, i := range rounds[family] {
		seat.shift[i] = -pull / float64(len(rounds[family])-1)
	}
	seat.shift[best], seat.trap = pull, best
	return seat, nil
}

// goodTrap is how far astray the needle leads in a round that is easily
// misunderstood, dB.
const goodTrap = 5.0

// HandIn plays a learner through the sheet. which tells hand-ins of one learner
// apart; the same arguments give the same moves.
func (s *Seat) HandIn(l Learner, seed uint64, which int, program string, began time.Time) (*handin.HandIn, error) {
	h, err := handin.Begin(l.Who, s.Sheet, program, began)
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(seed, nameSeed(l.Who)+uint64(which)))
	h.ID = fmt.Sprintf("%016x%016x", rng.Uint64(), rng.Uint64())
	last := s.Sheet.Rounds
	if l.Rounds > 0 {
		last = min(last, l.Rounds)
	}
	now := began
	for i := range last {
		r, err := exercise(s.Bench, s.Sheet, i)
		if err != nil {
			return nil, err
		}
		spread := l.SpreadDB
		if i == s.trap {
			spread /= 2
		}
		stop := r.Channels[0].AimDB + l.BiasDB[r.Family] + s.shift[i] + spread*rng.NormFloat64()
		take := play(rng, stop, l.Brisk)
		v, err := s.Bench.Judge(s.Sheet, i, take)
		if err != nil {
			return nil, err
		}
		now = now.Add(time.Duration(v.Seconds*float64(time.Second)) + time.Duration(3+5*rng.Float64())*time.Second)
		if err := h.Add(take, v, now); err != nil {
			return nil, err
		}
	}
	return h, nil
}

// exercise returns round i of a sheet of the main drill.
func exercise(bench *handin.RoundCache, s sheet.Sheet, i int) (*drills.Exercise, error) {
	e, err := bench.Exercise(s, i)
	if err == nil && e.Drill.ID != drills.Standard {
		return nil, fmt.Errorf("demo: learners know how to set a take, not the drill %s", e.Drill.Name)
	}
	return e, err
}

// nameSeed is the seed of a learner.
func nameSeed(who string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(who)) // it never fails
	return h.Sum64()
}

// play is a hand that comes up from the bottom, quickly at first, looks at the
// needle, goes a little past and settles.
func play(rng *rand.Rand, stop, brisk float64) drills.Take {
	stop = math.Round(10*min(max(stop, desk.FaderMin), desk.FaderMax)) / 10
	at := (0.8 + rng.Float64()) * audio.Rate / brisk
	var t drills.Take
	to := func(db, seconds float64) {
		db = math.Round(10*min(max(db, desk.FaderMin), desk.FaderMax)) / 10
		frame := int64(at) / 64 * 64 // moves take effect at chunk starts
		t.Moves = append(t.Moves, drills.Move{At: frame, To: db})
		at += seconds * (0.7 + 0.6*rng.Float64()) * audio.Rate / brisk
	}
	db := desk.FaderMin
	for db+3 < stop-3 {
		db += 3
		to(db, 0.25)
	}
	at += (0.5 + rng.Float64()) * audio.Rate / brisk
	for db+1 < stop {
		db++
		to(db, 0.6)
	}
	if rng.Float64() < 0.6 {
		to(stop+0.5+rng.Float64(), 1.1)
	}
	to(stop, 1.5+2*rng.Float64())
	t.LockAt = int64(at)
	return t
}
