package desk

import (
	"testing"

	"slowneedle/audio/medium"
)

func fullDesk(t testing.TB) *Desk {
	c := lineUp(both(tone(1000, -18), tone(500, -10)))
	c.Medium = medium.KindTape
	return mustNew(t, c)
}

// The audio thread allocates nothing.
func TestNoAllocation(t *testing.T) {
	buf := make([]float32, 2*480)
	d := fullDesk(t)
	c := lineUp(tone(1000, -18), both(tone(500, -20), tone(700, -20)))
	c.ChannelMeters = true
	c.Channels[1].GainCurve = []GainPoint{{0, 0}, {4800, -10}}
	many := mustNew(t, c)
	x := noise(48000)
	takes := NewCompare(x, x, 0)
	i := 0
	for name, f := range map[string]func(){
		"desk":           func() { i++; d.SetFader(0, float64(i%40)-20); d.Pull(buf) },
		"channel meters": func() { i++; many.SetFader(i%2, float64(i%40)-20); many.SetListen(i/10%3 - 1); many.Pull(buf) },
		"compare":        func() { i++; takes.SetListen(i / 5 & 1); takes.Pull(buf) },
	} {
		if n := testing.AllocsPerRun(500, f); n != 0 {
			t.Errorf("%s: %v allocations a block", name, n)
		}
	}
}

// The live chain: stereo, all meters, tape.
func BenchmarkPull(b *testing.B) {
	d := fullDesk(b)
	buf := make([]float32, 2*480)
	b.ReportAllocs()
	for b.Loop() {
		d.Pull(buf)
	}
	b.ReportMetric(float64(b.N)*0.01/b.Elapsed().Seconds(), "x-real-time")
}

// The same as the trainer needs it: a mono sound, needle, lamp, peak and
// programme meter, digital.
func BenchmarkPullMono(b *testing.B) {
	d := mustNew(b, lineUp(tone(1000, -18)))
	buf := make([]float32, 2*480)
	b.ReportAllocs()
	for b.Loop() {
		d.Pull(buf)
	}
	b.ReportMetric(float64(b.N)*0.01/b.Elapsed().Seconds(), "x-real-time")
}

// A take of one minute, judged again.
func BenchmarkReplayMinute(b *testing.B) {
	c := lineUp(tone(1000, -18))
	for b.Loop() {
		if _, err := Replay(c, nil, 60*second); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*60/b.Elapsed().Seconds(), "x-real-time")
}
