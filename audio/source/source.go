// Package source makes the sounds that rounds are played on: loops generated
// from a seed, and passages of the learner's own recordings.
//
//	s, err := source.Generate(source.Struck, 7, source.Difficulty{})
//	// s.Kind is "single hits, hand claps"; s.Channels[0] goes round without a seam
//
// # Families and their under-read
//
// A slow needle hides the peaks of a sound, by more the sharper they stand out.
// By how much, sample peak less reading in decibels, is what distinguishes the
// families. Common practice is 0 for a sine, about 6 for a voice, 12 for a plucked
// guitar and 16 for drums, with a few decibels between recordings. That is finished
// sound; what comes from the microphone, before any limiter, is another matter,
// and one sound in four is like that, but no steady one:
//
//	family    finished: quartiles    raw: quartiles
//	steady     0     2.2   6.5
//	voice      5.4   6.6   7.5        9.7  10.9  11.3
//	plucked   10.9  12.2  13.1       10.0  11.1  12.1
//	struck    15.2  16.6  18.3       15.6  17.1  18.4
//	ensemble   7.8   9.0  10.4        8.3   9.8  11.3
//
// The steady family is left as it is. For the others an under-read is drawn for
// each sound from a normal distribution around its kind's median, and a compressor
// that leaves strokes unequally high, on finished sound with a limiter behind it,
// or where the peaks stand out too little a lift of the onsets, brings the sound there.
//
// Under-read is only one figure of how a sound behaves. Package figures has more,
// and the tests compare the quartiles of each with those of recordings
// (testdata/sources/real.csv).
//
// # Takes
//
// A loop never surprises. A take (Request.Seconds) does: parts of 8 to 16 s that are
// louder or softer, players of an ensemble that are silent in some of them, an
// ending, and growth after its first 12 s as recordings have it. Its reading is
// that of all of it.
//
// # Reproducible
//
// A generated sound is entirely determined by family, seed and difficulty. Its
// random numbers come from a PCG generator (math/rand/v2) started at the seed
// and a number of the family; levels agree between machines to 0.01 dB.
package source

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"slowneedle/audio"
)

// Family is a kind of sound a teacher would name, distinguished by how much a
// slow needle under-reads it.
type Family string

// The families. Own stands for passages of the learner's recordings.
const (
	Steady   Family = "steady"
	Voice    Family = "voice"
	Plucked  Family = "plucked"
	Struck   Family = "struck"
	Ensemble Family = "ensemble"
	Own      Family = "own"
)

// Name is what English calls a family: what stands in files is shorter.
func (f Family) Name() string {
	switch f {
	case Steady:
		return "sustained"
	case Struck:
		return "percussion"
	case Own:
		return "own recording"
	}
	return string(f)
}

// Generated lists the families that Generate makes, in teaching order.
func Generated() []Family { return []Family{Steady, Voice, Plucked, Struck, Ensemble} }

// Difficulty is how hard a source is to judge. Each field runs from 0
// (plain) to 1 (hardest) and is held to that range; the zero value is a plain
// source. The hardest still lies inside the range of recordings.
type Difficulty struct {
	// Irregular is how uneven the peaks are. At 1 the strength of strokes
	// and notes varies with a standard deviation of 3 dB more, that of syllables of 2, steady
	// sounds swell by as much as 4 dB either way, and the sound under-reads by
	// 1 dB more.
	Irregular float64 `json:"irregular,omitempty"`
	// Wander is how much the level drifts: at 1 by some 2 dB either way, in
	// waves of a third of the sound to the whole.
	Wander float64 `json:"wander,omitempty"`
	// Pauses is how long the pauses are: at 1 a voice stops for most of a second
	// after every third phrase, and the others rest twice for about a second.
	Pauses float64 `json:"pauses,omitempty"`
}

// Sound is a seamless loop: after the last sample comes the first again.
type Sound struct {
	Family   Family
	Kind     string      // what it is inside its family, in trade words: "drum groove, sparse"
	Raw      bool        // as it comes from the microphone, before any limiter; false for finished sound
	Channels [][]float32 // one or two channels of equal length at audio.Rate
	Parts    []int       // of a take: where parts begin, in frames, the first at 0
}

// Len returns the loop's length in frames.
func (s *Sound) Len() int { return len(s.Channels[0]) }

// State is "raw", "finished" or, of a recording of the learner's own, of which neither is
// known, "own".
func (s *Sound) State() string {
	switch {
	case s.Family == Own:
		return "own"
	case s.Raw:
		return "raw"
	}
	return "finished"
}

// PeakDBFS is the sample peak of every generated sound.
const PeakDBFS = -6.0

// Request is the sound that is wanted. The zero values of its last fields
// are a plain loop of 10 to 16 s of one of the kinds that practice draws from.
type Request struct {
	Family     Family
	Seed       uint64
	Difficulty Difficulty
	Reserved   bool    // one of the two kinds a family keeps for test forms
	Seconds    float64 // a take of about that length, MinTake to MaxTake, with form; 0 for a loop
	// Pause, if it is not nil, is called between slices of the work, for programs that
	// must not be held up, such as a page in a browser. A slice takes at most 8 ms on a
	// desktop processor, most of them far less. The sound is the same. A take of 60 s
	// needs some 60 MB of memory while it is made, 12 MB of it a channel of the sound
	// itself; a loop a quarter of that.
	Pause func()
}

// Limits of Request.Seconds.
const (
	MinTake = 20
	MaxTake = 60
)

// Generate makes a loop: Request with a family, a seed and a difficulty, in one
// go. The error says which family is unknown.
func Generate(f Family, seed uint64, d Difficulty) (*Sound, error) {
	return Request{Family: f, Seed: seed, Difficulty: d}.Generate()
}

// Generate makes the sound, without Pause on several processors where there are.
func (r Request) Generate() (*Sound, error) {
	switch {
	case kinds[r.Family] == nil:
		return nil, fmt.Errorf("source: no family %q to generate; there are %v", r.Family, Generated())
	case r.Seconds != 0 && !(r.Seconds >= MinTake && r.Seconds <= MaxTake):
		return nil, fmt.Errorf("source: a take of %g s is out of range; it may last %d to %d s", r.Seconds, MinTake, MaxTake)
	}
	rng := rand.New(rand.NewPCG(r.Seed, stream(r.Family)))
	return drawKind(kinds[r.Family], r.Reserved, rng).generate(r, rng), nil
}

// kind is one sort of sound inside a family.
type kind struct {
	name     string
	weight   int // how often it is drawn against the others of its family
	reserved bool
	// Under-read that is aimed at, finished and raw: median and standard
	// deviation in dB, drawn for each sound. Without a deviation a finished sound
	// is left as it is, and no raw one is drawn.
	finished, raw spread
	slow, fast    float64    // tempo range in beats a minute
	seconds       [2]float64 // range of the length, where the tempo does not give it
	make          func(p *plan, x []float32)
	players       []player // of an ensemble, in place of make
}

type spread struct{ median, deviation float64 }

const (
	rawShare       = 0.25 // of the sounds of kinds that can be raw
	irregularUnder = 1    // dB by which the most irregular sound under-reads more than a plain one
)

// kinds lists the kinds of each family, in the order they are drawn from.
var kinds = map[Family][]kind{Steady: steadyKinds, Voice: voiceKinds, Plucked: pluckedKinds, Struck: struckKinds, Ensemble: ensembleKinds}

// stream numbers the random stream of a family.
func stream(f Family) uint64 {
	h := fnv.New64a()
	h.Write([]byte(f))
	return h.Sum64()
}

// drawKind picks one of the kinds that are reserved, or of those that are not.
func drawKind(all []kind, reserved bool, rng *rand.Rand) kind {
	var from []kind // each as often as it weighs
	for _, k := range all {
		if k.reserved == reserved {
			from = append(from, slices.Repeat([]kind{k}, k.weight)...)
		}
	}
	return from[rng.IntN(len(from))]
}

func (k kind) generate(r Request, rng *rand.Rand) *Sound {
	raw := rng.Float64() < rawShare && k.raw.deviation > 0
	p := newPlan(rng, r, k.slow, k.fast)
	p.step, p.raw, p.steady = r.Pause, raw, r.Family == Steady
	aim := k.finished
	if raw && r.Family == Plucked {
		p.swell = 2 // no hand plucks evenly (held to recordings by their modulation at 0.5 Hz)
	}
	if raw {
		aim = k.raw
	}
	under := 0.0
	if aim.deviation > 0 {
		under = aim.median + aim.deviation*p.bell() + irregularUnder*p.d.Irregular
	}
	if k.seconds[1] > 0 {
		p.length(k.seconds[0], k.seconds[1])
	}
	channels := k.play(p)
	if silent(channels) { // every stroke fell into a rest
		p.rests = nil
		channels = k.play(p)
	}
	p.finish(channels, under)
	s := &Sound{Family: r.Family, Kind: strings.TrimSuffix(k.name+", "+p.manner, ", "), Raw: raw, Channels: channels}
	if p.take {
		s.Parts = []int{0}
	}
	for _, part := range p.parts {
		s.Parts = append(s.Parts, part.at)
	}
	return s
}

// play makes the sound as it is played.
func (k kind) play(p *plan) [][]float32 {
	if k.players != nil {
		return p.balance(k.players)
	}
	x := p.loop()
	k.make(p, x)
	return [][]float32{x}
}

func silent(channels [][]float32) bool {
	return !slices.ContainsFunc(channels[0], func(v float32) bool { return v != 0 })
}

// LineUp returns the line-up tone: a 1 kHz sine whose peak, and so whose level,
// is levelDBFS. The loop is exact: 48 samples a cycle, the crest on a sample.
func LineUp(levelDBFS float64) *Sound {
	x := make([]float32, 10*audio.Rate)
	for i := range 48 {
		x[i] = float32(audio.Gain(levelDBFS) * math.Sin(2*math.Pi*float64(i)/48))
	}
	for n := 48; n < len(x); {
		n += copy(x[n:], x[:n])
	}
	return &Sound{Family: Steady, Kind: "line-up tone", Channels: [][]float32{x}}
}

// White returns white noise that a seed stands for, of a length in frames, its
// channels unlike each other; its samples lie between -1 and 1.
func White(seed uint64, frames, channels int) *Sound {
	s := &Sound{Family: Steady}
	rng := rand.New(rand.NewPCG(seed, stream(Steady)))
	for range channels {
		n := noise(rng.Uint32())
		x := make([]float32, frames)
		for i := range x {
			x[i] = float32(n.next())
		}
		s.Channels = append(s.Channels, x)
	}
	return s
}
