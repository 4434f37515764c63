package source

import "math/rand/v2"

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
