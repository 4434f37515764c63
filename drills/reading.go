package drills

import (
	"math"

	"slowneedle/audio"
)

// readLoop reads a loop by a plain volume indicator in its repeating state.
func readLoop(x []float32) float64 {
	const w, zeta, dt = 13.512, 0.8127, 1.0 / audio.Rate
	var p, v, top float64
	for pass := range 2 {
		for _, s := range x {
			v += dt * (w*w*(math.Pi/2*math.Abs(float64(s))-p) - 2*zeta*w*v)
			p += dt * v
			if pass == 1 {
				top = max(top, p)
			}
		}
	}
	return audio.DB(top)
}
