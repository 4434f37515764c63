// Package source makes the sounds that rounds are played on: loops generated
// from a seed, and passages of the learner's own recordings.
//
//	s, err := source.Generate(source.Struck, 7, source.Difficulty{})
//	// s.Kind is "single hits, wood block"; s.Channels[0] goes round without a seam
//
// # Families and their under-read
//
// A slow needle hides the peaks of a sound, by more the sharper they stand out.
// By how much, sample peak less reading in decibels, is what tells the families
// apart. Common practice is 0 for a sine, about 6 for a voice, 12 for a plucked
// guitar and 16 for drums, with a few decibels between recordings. Built in, over
// the first 500 seeds without difficulty, as package meter reads them:
//
//	family    lower quartile  median  upper quartile  of what
//	steady         0            2          6.5        tones 0, pipes 1.5, bowed notes 4.5, organ chords 6.7, pink noise 9.3
//	voice          5            6          7.3        sung 5, announcer 5.8, reading 6.3, conversation 6.6, whisper 8.3
//	plucked       10.8         11.8       13.2        strummed and bass 11.2, picked and tune 11.8, muted 13.5
//	struck        14.7         16.1       17.6        bars 14.3, hand drums 15.4, kit and shaker 16.2, single hits 18.7
//	ensemble       8.2          9.5       10.7        voice with strings or bed 8, band 9.5, with a kit 10.5 to 11
//
// The steady family is as it comes. The others are made to come near by how they
// are played and are then shaped: an under-read is drawn for each sound from a
// normal distribution around its kind's median (standard deviation 1.5 to 1.9 dB,
// ended at 2.3 deviations), and a gentle limiter, or where the peaks stand out too
// little a lift of the onsets, brings the sound there. In the middle it takes 3 dB
// off the peaks of a voice, as a studio's limiter does, 1 to 4 off those of
// strings, 2 to 5 off those of drums and 2 to 6 off those of mixtures.
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
	"math/rand/v2"

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
// source.
type Difficulty struct {
	// Irregular is how uneven the peaks are. At 1 the strength of strokes,
	// notes and syllables varies with a standard deviation of 7 dB more, steady
	// sounds swell by as much as 8 dB either way, and the sound under-reads by
	// 3 dB more.
	Irregular float64 `json:"irregular,omitempty"`
	// Wander is how much the level drifts: at 1 by some 4 dB either way, in
	// waves of a third of the loop to the whole.
	Wander float64 `json:"wander,omitempty"`
	// Pauses is how long the silences are: at 1 a voice pauses five times as
	// long, and the others rest for half of the loop, in two or three rests.
	Pauses float64 `json:"pauses,omitempty"`
}

// Sound is a seamless loop: after the last sample comes the first again.
type Sound struct {
	Family   Family
	Kind     string      // what it is inside its family, in trade words: "drum groove, sparse"
	Raw      bool        // as it comes from the microphone, before any limiter; false for finished sound
	Channels [][]float32 // one or two channels of equal length at audio.Rate
}

// Len returns the loop's length in frames.
func (s *Sound) Len() int { return len(s.Channels[0]) }

// PeakDBFS is the sample peak of every generated sound.
const PeakDBFS = -6.0

// Generate makes the sound of a family that a seed stands for: one channel,
// 10 to 16 s, sample peak PeakDBFS. The same arguments give the same sound.
// The error says which family is unknown.
func Generate(f Family, seed uint64, d Difficulty) (*Sound, error) {
	all := kinds(f)
	if len(all) == 0 {
		return nil, fmt.Errorf("source: no family %q to generate; there are %v", f, Generated())
	}
	rng := rand.New(rand.NewPCG(seed, stream(f)))
	total := 0
	for _, k := range all {
		total += k.weight
	}
	at := rng.IntN(total)
	i := 0
	for ; at >= all[i].weight; i++ {
		at -= all[i].weight
	}
	return all[i].generate(f, rng, d), nil
}

// kind is one sort of sound inside a family.
type kind struct {
	name   string
	weight int // how often it is drawn against the others of its family
	// Under-read aimed at by the peak shaping: median and standard deviation
	// in dB, drawn for each sound. A zero deviation leaves the sound as it is.
	under, spread float64
	slow, fast    float64 // tempo range in beats a minute
	make          func(p *plan) []float32
}

// irregularUnder is by how many dB more than a plain one the most irregular
// sound under-reads: its few high peaks are left standing.
const irregularUnder = 3

// kinds lists the kinds of a family, in the order they are drawn from.
func kinds(f Family) []kind {
	switch f {
	case Steady:
		return steadyKinds()
	case Voice:
		return voiceKinds()
	case Plucked:
		return pluckedKinds()
	case Struck:
		return struckKinds()
	case Ensemble:
		return ensembleKinds()
	}
	return nil
}

// stream numbers the random stream of a family.
func stream(f Family) uint64 {
	h := fnv.New64a()
	h.Write([]byte(f))
	return h.Sum64()
}

func (k kind) generate(f Family, rng *rand.Rand, d Difficulty) *Sound {
	p := newPlan(rng, d, k.slow, k.fast)
	p.steady = f == Steady
	target := 0.0
	if k.spread > 0 {
		target = k.under + k.spread*p.bell() + irregularUnder*p.d.Irregular
	}
	x := k.make(p)
	if silent(x) { // every stroke fell into a rest
		p.rests = nil
		x = k.make(p)
	}
	p.release()
	p.finish(x, target)
	name := k.name
	if p.manner != "" {
		name += ", " + p.manner
	}
	return &Sound{Family: f, Kind: name, Channels: [][]float32{x}}
}

func silent(x []float32) bool {
	for _, v := range x {
		if v != 0 {
			return false
		}
	}
	return true
}

// LineUp returns the line-up tone: a 1 kHz sine whose peak, and so whose level,
// is levelDBFS. The loop is exact: 48 samples a cycle, the crest on a sample.
func LineUp(levelDBFS float64) *Sound {
	n := 10 * audio.Rate
	x := make([]float32, n)
	g := audio.Gain(levelDBFS)
	for i := range x {
		x[i] = float32(g * sine48[i%48])
	}
	return &Sound{Family: Steady, Kind: "line-up tone", Channels: [][]float32{x}}
}
