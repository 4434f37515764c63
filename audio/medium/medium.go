// Package medium is what a take is recorded on, and what that does to it:
// hiss under a level that was too low, distortion or clipping on one that was
// too high.
//
// There are two media. Digital has a hard ceiling at full scale and the noise
// of dithered quantisation. Tape saturates softly, compresses the high
// frequencies and hisses. Both are deterministic: the same settings, seed and
// samples give the same take.
package medium

import "fmt"

// Kind names a medium.
type Kind string

// The media a rig can have.
const (
	KindDigital Kind = "digital"
	KindTape    Kind = "tape"
)

// Medium records and replays: what goes in comes out as it sounds from the
// recording, Latency frames later.
type Medium interface {
	// Process passes two channels of equal length through in place, samples
	// with full scale at ±1. Any division of a signal into blocks gives the
	// same result. It does not allocate.
	Process(l, r []float32)
	// Latency is the constant delay from input to output in frames.
	Latency() int
}

// New makes a medium of a kind. The reference is the level in dBFS that
// records at operating level (0 VU); only tape uses it. The seed is that of
// the medium's noise. The empty kind is digital. The error names a kind that
// does not exist.
func New(k Kind, referenceDBFS float64, seed uint64) (Medium, error) {
	switch k {
	case KindDigital, "":
		return NewDigital(seed), nil
	case KindTape:
		return NewTape(referenceDBFS, seed), nil
	}
	return nil, fmt.Errorf("medium: there is no medium %q: use %q or %q", k, KindDigital, KindTape)
}
