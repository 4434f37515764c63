package ladder

import (
	"math"

	"slowneedle/audio/source"
)

// Params is what a level sets. A drill uses those that it has.
type Params struct {
	StartSpreadDB float64           // the starting gain is drawn within plus or minus this, dB
	ToleranceDB   float64           // half the width of the window, dB, in steps of 0.1
	Seconds       float64           // time allowed for a round; 0 is no limit
	NeedleSeconds float64           // how long the needle stays visible; 0 is the whole round
	Difficulty    source.Difficulty // of the source
}

// Steps of Params; see there.
const (
	widestDB    = 3.0
	narrowestDB = 0.5
	narrowing   = 0.92

	widestSpread = 13.0
)

// At returns what a level sets, monotone in the level: nothing gets easier
// going up. Level 0 is off the ladder: a tolerance of 1 dB, the widest spread,
// no other burden. Other levels outside Bottom to Top count as the end.
//
//	tolerance      3 dB at level 1, 8 % less a level, never under 0.5 dB: half the
//	               decibel that is about the smallest step that matters to the ear
//	start spread   +-10 dB at level 1, 1 dB more a level, never over +-13 dB
//	time allowed   no limit to level 4, then 60 s, 3 s less a level, never under 15 s
//	needle         in sight throughout to level 8, then for 20 s, 1.5 s less a
//	               level, never under 3 s, ten times the needle's rise
//	source         plain to level 3; then peaks more uneven, from level 6 the
//	               level wanders, from level 10 pauses; all hardest at level 18
//
// The figures are the project's own choice but for the decibel (common
// practice). Neighbouring levels are close enough together for the up-down
// rule to settle at its published share of right answers: one level changes
// the chance of a right answer by about 0.04 at the edge of ability.
func At(level int) Params {
	if level == 0 {
		return Params{StartSpreadDB: widestSpread, ToleranceDB: 1}
	}
	n := float64(min(max(level, Bottom), Top))
	p := Params{
		StartSpreadDB: min(9+n, widestSpread),
		ToleranceDB:   math.Round(10*max(widestDB*math.Pow(narrowing, n-1), narrowestDB)) / 10,
		Difficulty: source.Difficulty{
			Irregular: part(n, 3, 18),
			Wander:    part(n, 5, 18),
			Pauses:    part(n, 9, 18),
		},
	}
	if n > 4 {
		p.Seconds = max(60-3*(n-5), 15)
	}
	if n > 8 {
		p.NeedleSeconds = max(20-1.5*(n-9), 3)
	}
	return p
}

// part is how far n has come from a to b, 0 to 1.
func part(n, a, b float64) float64 { return min(max((n-a)/(b-a), 0), 1) }
