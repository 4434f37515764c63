package desk

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
)

// NewCompare returns a desk that plays two finished loops of two sides each at one
// monitor level in dB (0 means MonitorStart). SetListen chooses which of them is heard,
// 0 (as at the start) or 1. Where lengths differ the shortest counts; loops without
// samples are silence.
//
// Both loops run all the time. They are two recordings of the same sound and in step, so
// that amplitudes add and the straight lines of a switch keep the level.
func NewCompare(a, b [2][]float32, monitorDB float64) *Desk {
	n := min(len(a[0]), len(a[1]), len(b[0]), len(b[1]))
	if n == 0 {
		silence := make([]float32, block)
		a, b, n = [2][]float32{silence, silence}, [2][]float32{silence, silence}, block
	}
	c := Config{MonitorDB: monitorDB}
	for _, x := range [][2][]float32{a, b} {
		c.Channels = append(c.Channels, Channel{Sound: &source.Sound{Channels: [][]float32{x[0][:n], x[1][:n]}}})
	}
	d := assemble(&c, nil)
	d.bus = nil
	d.wantListen.Store(0)
	d.atListen = 0
	d.channels[0].heard.jump(1)
	d.mediumMix.jump(0)
	return d
}

// Match returns the gain in dB that brings a take to the loudness of another
// recording, by the integrated loudness of ITU-R BS.1770-5 of both; 0 if
// either is too short or too quiet to have one.
func Match(take, aim [2][]float32) (gainDB float64) {
	gainDB = meter.IntegratedLoudness(audio.Rate, aim[:]...) - meter.IntegratedLoudness(audio.Rate, take[:]...)
	if math.IsNaN(gainDB) || math.IsInf(gainDB, 0) {
		return 0
	}
	return gainDB
}

// Amplify returns a recording at another level.
func Amplify(x [2][]float32, gainDB float64) (out [2][]float32) {
	g := float32(audio.Gain(gainDB))
	for ch := range x {
		out[ch] = make([]float32, len(x[ch]))
		for i, v := range x[ch] {
			out[ch][i] = v * g
		}
	}
	return out
}
