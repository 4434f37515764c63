package meter

import (
	"math"

	"slowneedle/audio"
)

// Needle is a standard volume indicator on one channel: a full-wave average
// rectifier working on the oversampled signal, and a second-order movement that
// is 99 % there after 300 ms and overshoots by 1.25 %. A sine of peak A settles
// at position A.
//
// A volume indicator is fed through a transformer, so a constant on the signal is
// taken out ahead of the rectifier: what two low-passes of the first order at 1 Hz,
// one after the other, leave of the signal is subtracted. That raises a tone of
// 25 Hz by 0.014 dB.
//
// The needle moves every 32 frames; between those steps it shows where it stood
// at the last one, 13 frames (0.27 ms at 48 kHz) behind the sound. Samples that
// are no finite number count as silence.
type Needle struct {
	over  oversampler
	step  Transition
	state State
	max   float64

	mean     float64 // of the signal, after the first low-pass
	constant float64 // and after the second
	follow   float64 // share of what lacks that a low-pass takes over in a block
}

const transformerHz = 1 // our own figure, far below what a transformer passes

// followOver is the share of what lacks that a low-pass takes over in a time.
func followOver(seconds float64) float64 { return -math.Expm1(-2 * math.Pi * transformerHz * seconds) }

// NewNeedle returns a needle at rest for a sample rate in hertz.
func NewNeedle(rate int) *Needle {
	seconds := blockFrames / float64(max(rate, 1))
	return &Needle{step: Standard.Over(seconds), follow: followOver(seconds)}
}

// Process moves the needle over any number of samples.
func (n *Needle) Process(samples []float32) {
	n.over.blocks(samples, func() { n.move(n.over.run(float32(n.constant))) })
}

func (n *Needle) move(s sums) {
	n.state = n.state.Step(&n.step, drive(s.magnitude, blockFrames*oversampling)).settle()
	n.max = max(n.max, n.state.P)
	n.mean += float64(n.follow * (finite(s.plain)/blockFrames - n.mean))
	n.constant += float64(n.follow * (n.mean - n.constant))
	if math.Abs(n.mean) < 1e-30 && math.Abs(n.constant) < 1e-30 {
		n.mean, n.constant = 0, 0
	}
}

// Position is how far the needle stands from rest: 1 where a full-scale sine
// settles. It is never negative, the needle lies on its stop.
func (n *Needle) Position() float64 { return max(n.state.P, 0) }

// Level is the position as a level in dBFS: a sine of that level settles there.
// It is -Inf at rest.
func (n *Needle) Level() float64 { return audio.DB(n.state.P) }

// MaxLevel is the greatest level since the start, in dBFS; -Inf if the
// needle never left its stop.
func (n *Needle) MaxLevel() float64 { return audio.DB(n.max) }
