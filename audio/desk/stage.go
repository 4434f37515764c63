package desk

import (
	"math"
	"math/rand/v2"

	"slowneedle/audio"
)

// stageStream is the second word of the generators of the stages' noise, the
// first stage's; the others follow.
const stageStream = 0x57a6e

// stage is what a stage does to a block beside its gain.
type stage struct {
	noise *rand.PCG
	hiss  float32 // highest sample of the noise, which is spread evenly
	clip  float32 // highest sample that leaves it
}

func newStage(c *Stage, noise *rand.PCG) *stage {
	// A sine of amplitude 1 is 0 dBFS, and noise spread evenly over ±1 has an RMS of
	// 1/√3, so that it is at 10 log10(2/3).
	return &stage{
		noise: noise,
		hiss:  float32(audio.Gain(c.NoiseDBFS) * math.Sqrt(1.5)),
		clip:  float32(audio.Gain(c.ClipDBFS)),
	}
}

// pass adds the stage's noise to a block, amplifies it by a gain that runs from one
// value to another, and cuts off what clips.
func (s *stage) pass(out, in []float32, from, to float32) {
	if s.hiss > 0 {
		for i := 0; i < len(out); i += 2 {
			u := s.noise.Uint64()
			out[i] = in[i] + float32(float32(int32(u))*(1.0/(1<<31))*s.hiss)
			out[i+1] = in[i+1] + float32(float32(int32(u>>32))*(1.0/(1<<31))*s.hiss)
		}
		in = out
	}
	scale(out, in, from, to)
	for i, x := range out {
		out[i] = max(-s.clip, min(s.clip, x))
	}
}
