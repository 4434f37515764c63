package meter_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
)

// Noise far below a sound moves its reading by no more than 0.1 dB: noise of
// -66 dBFS RMS beside 240 generated sources, each at its own level.
func TestReadingInNoise(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 66))
	noise := make([]float32, 30*audio.Rate) // each source has a stretch of it
	for i := range noise {
		noise[i] = float32(audio.Gain(-66) * rnd.NormFloat64())
	}
	families := source.Generated()
	for n := range 240 {
		family, seed := families[n%len(families)], uint64(n/len(families))
		d := source.Difficulty{Irregular: float64(n%4) / 3, Wander: float64(n%3) / 2, Pauses: float64(n%5) / 4}
		s, err := source.Generate(family, seed, d)
		if err != nil {
			t.Fatal(err)
		}
		x := s.Channels[0]
		before := meter.ReadLoop(x, audio.Rate).Reading
		noisy := make([]float32, len(x))
		from := rnd.IntN(len(noise) - len(x))
		for i, v := range x {
			noisy[i] = v + noise[from+i]
		}
		if by := meter.ReadLoop(noisy, audio.Rate).Reading - before; !(math.Abs(by) <= 0.1) {
			t.Errorf("%s, seed %d (%s): the reading of %.2f dBFS moves by %.3f dB", family, seed, s.Kind, before, by)
		}
	}
}
