package desk

import (
	"math"
	"sync/atomic"

	"slowneedle/audio"
)

// The tones by which a needle is heard (our own figures): one that stays, then one
// whose pitch tells how far the needle stands from where it is to stand.
const (
	GuideHz     = 440.0 // of the tone that stays
	guideOctave = 6.0   // dB to an octave
	guideReach  = 12.0  // dB to either side, beyond which the pitch stays
	guidePeak   = 0.1   // of full scale, ahead of the monitor control
	guideEdge   = audio.Rate / 50
	guideFirst  = audio.Rate / 4 // how long the tone that stays is heard, in frames
	guideGap    = audio.Rate / 10
	guideSecond = audio.Rate * 4 / 10
	guidePeriod = guideFirst + guideGap + guideSecond + guideGap
)

// guide makes these tones, both sides alike.
type guide struct {
	asked atomic.Uint64 // bits of the distance in dB plus 1000; 0: silent
	level ramp
	phase float64 // in turns
	at    int     // in the period
	sound [block]float32
}

// SetGuide has the needle heard beside the sound, at a distance in dB from where it is
// to stand: one tone that stays and one above or below it, an octave for each 6 dB, in
// turn. They are quiet, come and go over some milliseconds, and go through the monitor
// control and under the ceiling as the sound does; no meter sees them. NaN ends it.
func (o *outlet) SetGuide(db float64) {
	bits := uint64(0)
	if !math.IsNaN(db) {
		bits = math.Float64bits(1000 + math.Max(-guideReach, math.Min(guideReach, db)))
	}
	o.guide.asked.Store(bits)
}

// next makes a block of the tones, or reports that there is none.
func (g *guide) next() bool {
	asked := g.asked.Load()
	if asked == 0 {
		g.level.set(0)
	} else {
		g.level.set(guidePeak)
	}
	if g.level.still(0) {
		g.at = 0
		return false
	}
	from, to := g.level.next()
	second := GuideHz * math.Exp2((math.Float64frombits(asked)-1000)/guideOctave)
	for i := range g.sound {
		hz, in, long := GuideHz, g.at, guideFirst
		if g.at >= guideFirst+guideGap {
			in, long = g.at-guideFirst-guideGap, guideSecond
			if asked != 0 {
				hz = second
			}
		}
		edge := math.Min(1, math.Max(0, float64(min(in, long-in))/guideEdge))
		g.phase += hz / audio.Rate
		g.phase -= math.Floor(g.phase)
		level := from + (to-from)*float32(i)/block
		g.sound[i] = level * float32(edge*math.Sin(2*math.Pi*g.phase))
		g.at = (g.at + 1) % guidePeriod
	}
	return true
}
