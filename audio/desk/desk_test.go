package desk

import (
	"math"
	"testing"

	"slowneedle/audio/source"
)

// tone is a loop of a sine, a whole number of periods long.
func tone(hz, db float64, frames int) *source.Sound {
	x := make([]float32, frames)
	for i := range x {
		x[i] = float32(math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/48000))
	}
	return &source.Sound{Channels: [][]float32{x}}
}

func TestQuick(t *testing.T) {
	d, err := New(Config{Channels: []Channel{{Sound: tone(1000, -18, 48000)}}, LampDBFS: -6, Meters: MetersAll})
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]float32, 2*480)
	for i := 0; i < 300; i++ {
		if i == 100 {
			d.SetFader(0, 6)
		}
		d.Pull(buf)
	}
	s, ok := d.At(math.MaxInt64)
	t.Logf("%+v %v %v", s, ok, d.Moves())
}
func BenchmarkPull(b *testing.B) {
	snd := tone(1000, -18, 48000)
	snd.Channels = append(snd.Channels, tone(500, -10, 48000).Channels[0])
	d, err := New(Config{Channels: []Channel{{Sound: snd}}, LampDBFS: -6, Meters: MetersAll, Medium: "tape"})
	if err != nil {
		b.Fatal(err)
	}
	buf := make([]float32, 2*480)
	for b.Loop() {
		d.Pull(buf)
	}
	b.ReportMetric(float64(b.N)*.01/b.Elapsed().Seconds(), "xrealtime")
}
