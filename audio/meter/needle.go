package meter

import "slowneedle/audio"

// Needle is a standard volume indicator on one channel: a full-wave average
// rectifier working on the oversampled signal, and a second-order movement that
// is 99 % there after 300 ms and overshoots by 1.25 %. A sine of peak A settles
// at position A.
//
// The needle moves every 32 frames; between those steps it shows where it stood
// at the last one, 13 frames (0.27 ms at 48 kHz) behind the sound. Samples that
// are no finite number count as silence.
type Needle struct {
	over  oversampler
	step  transition
	state state
	max   float64
}

// NewNeedle returns a needle at rest for a sample rate in hertz.
func NewNeedle(rate int) *Needle {
	return &Needle{over: newOversampler(rate), step: standard.over(chunk / float64(max(rate, 1)))}
}

// Process moves the needle over a block of any length.
func (n *Needle) Process(block []float32) {
	for {
		rest, full := n.over.fill(block)
		if !full {
			return
		}
		sum, _ := n.over.run()
		n.move(sum)
		n.over.next()
		block = rest
	}
}

func (n *Needle) move(sum float32) {
	n.state = n.state.step(&n.step, drive(sum, chunk*n.over.factor)).settle()
	n.max = max(n.max, n.state.p)
}

// Position is how far the needle stands from rest: 1 where a full-scale sine
// settles. It is never negative, the needle lies on its stop.
func (n *Needle) Position() float64 { return max(n.state.p, 0) }

// Level is the position as a level in dBFS: a sine of that level settles there.
// It is -Inf at rest.
func (n *Needle) Level() float64 { return audio.DB(n.state.p) }

// MaxLevel is the greatest level since the start or Reset, in dBFS; -Inf if the
// needle never left its stop.
func (n *Needle) MaxLevel() float64 { return audio.DB(n.max) }

// Reset puts the needle to rest and forgets what was heard.
func (n *Needle) Reset() { *n = Needle{over: oversampler{factor: n.over.factor}, step: n.step} }
