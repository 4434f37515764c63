package desk

import (
	"math"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

// staged is a desk of a sound and stages without noise that clip nowhere.
func staged(s *source.Sound, gains ...float64) Config {
	c := lineUp(s)
	c.ChannelMeters = true
	for _, g := range gains {
		c.Channels = append(c.Channels, Channel{FaderDB: g, Stage: &Stage{From: len(c.Channels) - 1, Min: -60, Max: 60, NoiseDBFS: math.Inf(-1), ClipDBFS: 60, LampDBFS: 60}})
	}
	return c
}

// rms is the level of a recording in dBFS: a full-scale sine is 0.
func rms(x []float32) float64 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return audio.DB(math.Sqrt(2 * sum / float64(len(x))))
}

// Gains of stages add up, beyond a fader's travel too, whether the sound has one
// channel or two; every stage's needle shows what leaves it.
func TestStagesInSeries(t *testing.T) {
	for _, s := range []*source.Sound{tone(1000, -70), both(tone(1000, -70), tone(1000, -70))} {
		d := mustNew(t, staged(s, -20, 54, 0, 10))
		d.SetFader(3, -6)
		run(d, 2*second)
		want := -70.0
		for i, g := range []float64{0, -20, 54, -6, 10} {
			want += g
			m, ok := d.ChannelAt(i, d.Position())
			if !ok || !near(m.NeedleDBFS, want, 0.1) || !near(m.PeakDBFS, want, 0.1) {
				t.Errorf("behind stage %d the needle shows %.2f and the peak is %.2f dBFS, want %.2f", i, m.NeedleDBFS, m.PeakDBFS, want)
			}
		}
		if m, _ := d.At(d.Position()); !near(m.NeedleDBFS[0], want, 0.1) || !near(m.NeedleDBFS[1], want, 0.1) {
			t.Errorf("the bus shows %v, want %.2f", m.NeedleDBFS, want)
		}
	}
}

// Noise comes in ahead of a stage's gain, with the RMS that is asked for; that of
// two stages adds as power, and both sides of a stereo chain have their own.
func TestStageNoise(t *testing.T) {
	silence := &source.Sound{Channels: [][]float32{make([]float32, second), make([]float32, second)}}
	c := staged(silence, 12, 6)
	c.Channels[1].Stage.NoiseDBFS = -60
	out, err := Render(c, nil, 4*second)
	if err != nil {
		t.Fatal(err)
	}
	if got := rms(out[0]); !near(got, -60+12+6, 0.1) {
		t.Errorf("one noise: %.2f dBFS", got)
	}
	c.Channels[2].Stage.NoiseDBFS = -48
	if out, err = Render(c, nil, 4*second); err != nil {
		t.Fatal(err)
	}
	if got := rms(out[0]); !near(got, -48+6+3.01, 0.1) {
		t.Errorf("two noises: %.2f dBFS", got)
	}
	both := 0.0
	for i := range out[0] {
		both += float64(out[0][i]) * float64(out[1][i])
	}
	if share := both / float64(len(out[0])) / math.Pow(audio.Gain(rms(out[0]))/math.Sqrt2, 2); math.Abs(share) > 0.02 {
		t.Errorf("the two sides are alike by %.3f", share)
	}
}

// A stage cuts off at its clip point, and its lamp lights at its own threshold.
func TestStageClips(t *testing.T) {
	c := staged(tone(1000, -20), 17, -10)
	c.Channels[1].Stage.ClipDBFS, c.Channels[1].Stage.LampDBFS = -4, -7
	c.Channels[2].Stage.ClipDBFS, c.Channels[2].Stage.LampDBFS = -4, -7
	d := mustNew(t, c)
	run(d, second)
	clips, below := mustShow(t, d, 1), mustShow(t, d, 2)
	if !near(clips.PeakDBFS, -4, 0.01) || !near(below.PeakDBFS, -14, 0.01) {
		t.Errorf("peaks of %.2f and %.2f dBFS, want -4 and -14", clips.PeakDBFS, below.PeakDBFS)
	}
	if !clips.Lit || below.Lit {
		t.Errorf("lamps: %v and %v", clips.Lit, below.Lit)
	}
}

func mustShow(t *testing.T, d *Desk, channel int) ChannelSnapshot {
	t.Helper()
	m, ok := d.ChannelAt(channel, d.Position())
	if !ok {
		t.Fatalf("channel %d shows nothing", channel)
	}
	return m
}

func TestStageRefusals(t *testing.T) {
	wide := staged(tone(1000, -20), 0)
	wide.Channels[1].Stage.Min, wide.Channels[1].Stage.Max, wide.Channels[1].Stage.NoiseDBFS = -120, 120, 0
	if _, err := New(wide); err != nil {
		t.Errorf("at the ends of its ranges: %v", err)
	}
	for _, row := range []struct {
		change func(c *Config)
		says   string
	}{
		{func(c *Config) { c.Channels[0].Stage = &Stage{} }, "give one ahead of it"},
		{func(c *Config) { c.Channels[1].Stage.From = 1 }, "give one ahead of it"},
		{func(c *Config) { c.Channels[1].Stage.Min = 70 }, "give a range"},
		{func(c *Config) { c.Channels[1].Stage.Min = -120.5 }, "give a range"},
		{func(c *Config) { c.Channels[1].Stage.Max = 120.5 }, "give a range"},
		{func(c *Config) { c.Channels[1].Stage.Max = math.NaN() }, "give a range"},
		{func(c *Config) { c.Channels[1].Stage.LampDBFS = math.NaN() }, "LampDBFS"},
		{func(c *Config) { c.Channels[1].Stage.NoiseDBFS = 3 }, "NoiseDBFS"},
		{func(c *Config) { c.Channels[1].Stage.NoiseDBFS = 0.5 }, "NoiseDBFS"},
		{func(c *Config) { c.Channels[1].Stage.ClipDBFS = math.NaN() }, "ClipDBFS"},
	} {
		c := staged(tone(1000, -20), 0)
		row.change(&c)
		if _, err := New(c); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("got %v; want a sentence with %q", err, row.says)
		}
	}
}
