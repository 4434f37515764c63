// Command chain runs the whole signal path over sounds that are made without
// floating-point sums, and prints all that comes out of it: the desk, the meters, both
// media and what they do to the sound. A test compares what builds for different
// processors print.
package main

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
)

// strokes makes a loop of noise that begins again, at another level, every so often.
func strokes(seed uint64, frames int) []float32 {
	rnd := rand.New(rand.NewPCG(seed, 8))
	x := make([]float32, frames)
	level := float32(0)
	for i := range x {
		if rnd.IntN(9000) == 0 {
			level = rnd.Float32()
		}
		level *= 0.9997
		x[i] = level * (2*rnd.Float32() - 1)
	}
	return x
}

func bits(x []float32) uint64 {
	h := fnv.New64a()
	for _, v := range x {
		u := math.Float32bits(v)
		h.Write([]byte{byte(u), byte(u >> 8), byte(u >> 16), byte(u >> 24)})
	}
	return h.Sum64()
}

func main() {
	for seed := range uint64(6) {
		left, right := strokes(seed, 5*audio.Rate+int(seed)*77), strokes(seed+50, 5*audio.Rate+int(seed)*77)
		for _, kind := range []medium.Kind{medium.KindDigital, medium.KindTape} {
			run(fmt.Sprintf("%d %s", seed, kind), kind, left, right)
		}
		for _, rate := range []int{44100, 48000, 96000} {
			read(fmt.Sprintf("%d at %d", seed, rate), rate, left, right)
		}
	}
}

func run(name string, kind medium.Kind, left, right []float32) {
	c := desk.Config{
		Channels: []desk.Channel{
			{Sound: &source.Sound{Channels: [][]float32{left, right}}, StartGainDB: 11.3, FaderDB: -2.5},
			{Sound: &source.Sound{Channels: [][]float32{right}}, StartGainDB: -3.7,
				GainCurve: []desk.GainPoint{{At: 0, DB: 0}, {At: 100000, DB: 7.1}, {At: 300000, DB: -5}}},
		},
		LampDBFS: -6, Medium: kind, Reference: -18, Seed: 3,
	}
	moves := []desk.Move{{At: 20000, To: 3.3}, {At: 90001, Control: 1, To: -7.9}, {At: 120000, To: 6.1}}
	const frames = 7 * audio.Rate
	r, err := desk.Watch(c, moves, frames, func(s desk.Snapshot) {
		if s.At%24000 == 0 {
			fmt.Println(name, s.At, s.NeedleDBFS, s.PeakDBFS, s.PPMDBFS, s.Lit, s.Flicks, s.Clipped)
		}
	})
	fmt.Println(name, "replay", r.Flicks, r.Clipped, r.PeakDBFS, r.NeedleDBFS, err)
	out, err := desk.Render(c, moves, frames)
	fmt.Println(name, "render", bits(out[0]), bits(out[1]), err)
	snr, distortion, err := medium.Damage(kind, -18, [][]float32{left, right}, 9.7, nil)
	fmt.Println(name, "damage", snr, distortion, err)
}

func read(name string, rate int, left, right []float32) {
	p := meter.ReadLoop(left, rate)
	r := meter.NewReader(rate)
	r.Process(right)
	fmt.Println(name, "read", p, r.Passage(), meter.IntegratedLoudness(rate, left, right))
	l, err := meter.NewLoudness(rate, 2)
	if err != nil {
		panic(err)
	}
	l.Process(left, right)
	rms := &meter.RMS{Clip: 0.5}
	rms.Process(left)
	lamps := meter.NewLampMap(rate, meter.LampHold, left, right)
	fmt.Println(name, "meters", l.MaxMomentary(), l.MaxShortTerm(), rms.Level(), rms.Clipped(), lamps.At(-6), lamps.At(-12.3))
}
