package desk

import (
	"math"
	"strings"
	"testing"

	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

const second = 48000

// tone is a loop of one second of a sine of a level in dBFS, peak.
func tone(hz, db float64) *source.Sound {
	x := make([]float32, second)
	for i := range x {
		x[i] = float32(math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/second))
	}
	return &source.Sound{Channels: [][]float32{x}}
}

// level is a loop of samples of one value.
func level(v float32) *source.Sound {
	x := make([]float32, 1000)
	for i := range x {
		x[i] = v
	}
	return &source.Sound{Channels: [][]float32{x}}
}

// both is a sound of two channels.
func both(l, r *source.Sound) *source.Sound {
	return &source.Sound{Channels: [][]float32{l.Channels[0], r.Channels[0]}}
}

func lineUp(s ...*source.Sound) Config {
	c := Config{LampDBFS: -6, Reference: -18}
	for _, x := range s {
		c.Channels = append(c.Channels, Channel{Sound: x})
	}
	return c
}

func mustNew(t testing.TB, c Config) *Desk {
	t.Helper()
	d, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// run pulls frames.
func run(d interface{ Pull([]float32) }, frames int) []float32 {
	out := make([]float32, 2*frames)
	d.Pull(out)
	return out
}

func newest(t testing.TB, d *Desk) Snapshot {
	t.Helper()
	s, ok := d.At(math.MaxInt64)
	if !ok {
		t.Fatal("there is no snapshot")
	}
	return s
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

// What the meters show of a sine is its level, and the sum of a desk's
// channels is a sum of amplitudes.
func TestMetersReadTheSum(t *testing.T) {
	a, b := tone(1000, -18), tone(1000, -24)
	two := lineUp(a, a)
	two.Channels[1].FaderDB = -6
	gained := lineUp(a)
	gained.Channels[0].StartGainDB = -7.3
	gained.Channels[0].FaderDB = 7.3
	for _, tt := range []struct {
		name        string
		c           Config
		left, right float64
	}{
		{"mono goes to both sides at full level", lineUp(a), -18, -18},
		{"two channels go straight through", lineUp(both(a, b)), -18, -24},
		{"two of the same make 6 dB more", lineUp(a, a), -11.98, -11.98},
		{"one of them 6 dB down", two, -18 + 3.53, -18 + 3.53},
		{"gain ahead of the fader", gained, -18, -18},
		{"mono and two channels", lineUp(b, both(b, a)), -24 + 6.02, -18 + 3.53},
	} {
		d := mustNew(t, tt.c)
		run(d, 3*second)
		s := newest(t, d)
		for ch, want := range []float64{tt.left, tt.right} {
			for name, got := range map[string]float64{
				"needle": s.NeedleDBFS[ch], "peak": s.PeakDBFS[ch],
			} {
				if !near(got, want, 0.03) {
					t.Errorf("%s: %s of side %d shows %.3f dB, not %.2f", tt.name, name, ch, got, want)
				}
			}
			// IEC 60268-10 lets the programme meter err by 0.5 dB.
			if !near(s.PPMDBFS[ch], want, 0.5) {
				t.Errorf("%s: programme meter of side %d shows %.3f dB, not %.2f", tt.name, ch, s.PPMDBFS[ch], want)
			}
		}
	}
}

// A reading shifts by exactly as much as the fader.
func TestReadingShiftsWithFader(t *testing.T) {
	want := -18.0
	for _, fader := range []float64{-36, -20.5, -6, 0, 3.3, 12} {
		c := lineUp(tone(440, want))
		c.Channels[0].FaderDB = fader
		r, err := Replay(c, nil, 3*second)
		if err != nil {
			t.Fatal(err)
		}
		if got := r.NeedleDBFS[0]; !near(got, want+fader, 0.01) {
			t.Errorf("at %+.1f dB the needle shows %.4f dBFS, not %.1f", fader, got, want+fader)
		}
		if got := r.PeakDBFS[0]; !near(got, want+fader, 0.001) {
			t.Errorf("at %+.1f dB the peak is %.4f dBFS, not %.1f", fader, got, want+fader)
		}
	}
}

// watchLamp replays a desk and returns the last snapshot and for how many frames the
// lamp was lit, in steps of a snapshot.
func watchLamp(c Config, frames int64) (last Snapshot, lit int64, err error) {
	at := int64(0)
	last, err = Watch(c, nil, frames, func(s Snapshot) {
		if s.Lit {
			lit += s.At - at
		}
		at = s.At
	})
	return last, lit, err
}

// Samples at or beyond full scale: of a sine of amplitude a they are
// (2/pi) acos(1/a) of all.
func TestClippedAndLamp(t *testing.T) {
	c := lineUp(tone(441, -12))
	c.Channels[0].FaderDB = 12 // exactly full scale
	c.Channels[0].StartGainDB = 6
	r, lit, err := watchLamp(c, second)
	if err != nil {
		t.Fatal(err)
	}
	want := second * 2 / math.Pi * math.Acos(math.Pow(10, -6/20.0))
	if !near(float64(r.Clipped), want, 0.01*want) {
		t.Errorf("%d samples of a second count as clipped, not about %.0f", r.Clipped, want)
	}
	if r.Flicks != 1 || !near(float64(lit), second, 480) {
		t.Errorf("a tone above the lamp makes %d flicks and %d lit frames", r.Flicks, lit)
	}

	// Three hits in a loop of three seconds, one of them below the lamp.
	x := make([]float32, 3*second)
	x[1000], x[second+1000], x[2*second+1000] = 0.6, -0.6, 0.4
	r, lit, err = watchLamp(lineUp(&source.Sound{Channels: [][]float32{x}}), 6*second)
	if err != nil {
		t.Fatal(err)
	}
	if r.Flicks != 4 {
		t.Errorf("four hits above the lamp make %d flicks", r.Flicks)
	}
	if seconds := float64(lit) / second; !near(seconds, 4*0.15, 0.05) {
		t.Errorf("the lamp is lit for %.3f s, not 0.6", seconds)
	}
	if r.Clipped != 0 {
		t.Errorf("%d samples count as clipped, none is", r.Clipped)
	}
}

// A sample exactly at full scale, of either sign, is clipped (the largest code stands
// for it); one just below is not.
func TestClippedAtFullScale(t *testing.T) {
	x := make([]float32, second)
	x[100], x[200], x[300], x[400] = 1, -1, math.Nextafter32(1, 0), -math.Nextafter32(1, 0)
	r, err := Replay(lineUp(&source.Sound{Channels: [][]float32{x}}), nil, second)
	if err != nil || r.Clipped != 2 {
		t.Errorf("%d samples count as clipped, want 2 (%v)", r.Clipped, err)
	}
}

// Each channel's own needle shows it behind its gain curve and its fader.
func TestChannelMeters(t *testing.T) {
	c := lineUp(tone(1000, -20), both(tone(500, -30), tone(700, -26)))
	c.Channels[1].FaderDB = 4
	c.Channels[1].GainCurve = []GainPoint{{0, -2}}
	c.ChannelMeters = true
	d := mustNew(t, c)
	run(d, 3*second)
	for ch, want := range []float64{-20, -26 + 4 - 2} {
		s, ok := d.ChannelAt(ch, d.Position())
		if !ok || !near(s.NeedleDBFS, want, 0.02) || !near(s.PeakDBFS, want, 0.02) {
			t.Errorf("channel %d shows needle %.2f, peak %.2f (%v), not %v", ch, s.NeedleDBFS, s.PeakDBFS, ok, want)
		}
	}
	if _, ok := d.ChannelAt(2, d.Position()); ok {
		t.Error("there is a third channel")
	}
	if _, ok := mustNew(t, lineUp(tone(1000, -20))).ChannelAt(0, 0); ok {
		t.Error("a desk without channel meters has them")
	}
}

// Snapshots come every 10 ms, stamped with the frames they have seen; those of
// the last 40 s are there.
func TestSnapshots(t *testing.T) {
	d := mustNew(t, lineUp(tone(1000, -18)))
	if s, ok := d.At(0); !ok || s.At != 0 || !math.IsInf(s.NeedleDBFS[0], -1) {
		t.Errorf("before the start At(0) gives %+v, %v", s, ok)
	}
	run(d, 5000)
	for _, tt := range []struct{ pos, want int64 }{{0, 0}, {479, 0}, {480, 480}, {1000, 960}, {4800, 4800}} {
		if s, ok := d.At(tt.pos); !ok || s.At != tt.want {
			t.Errorf("At(%d) is stamped %d, %v, not %d", tt.pos, s.At, ok, tt.want)
		}
	}
	if _, ok := d.At(-1); ok {
		t.Error("there is a snapshot before the start")
	}
	if got := d.Since(nil, 960); len(got) != 8 || got[0].At != 1440 || got[7].At != 4800 {
		t.Errorf("Since(960) gives %d snapshots", len(got))
	}
	for range 100 {
		run(d, second)
	}
	all := d.Since(nil, -1)
	if span := all[len(all)-1].At - all[0].At; span < 40*second {
		t.Errorf("after 100 s the snapshots span %.1f s, not 40", float64(span)/second)
	}
	for i := 1; i < len(all); i++ {
		if all[i].At-all[i-1].At != 480 {
			t.Fatalf("snapshots at %d and %d", all[i-1].At, all[i].At)
		}
	}
	if _, ok := d.At(second); ok {
		t.Error("a snapshot of 100 s ago is still there")
	}
	for i := 0; i < len(all); i += 97 { // each is found where it was taken, up to the next
		for _, pos := range []int64{all[i].At, all[i].At + 479} {
			if s, ok := d.At(pos); !ok || s.At != all[i].At {
				t.Fatalf("At(%d) is stamped %d, %v, not %d", pos, s.At, ok, all[i].At)
			}
		}
		if after := d.Since(nil, all[i].At); len(after) != len(all)-1-i {
			t.Fatalf("after %d there are %d snapshots, want %d", all[i].At, len(after), len(all)-1-i)
		}
	}
}

// A gain curve is straight in dB between its points and level outside.
func TestGainCurve(t *testing.T) {
	c := lineUp(level(0.1))
	c.Channels[0].GainCurve = []GainPoint{{4800, 0}, {9600, 12}, {9600, -6}, {19200, 6}}
	out, err := Render(c, nil, 72000)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		at int
		db float64
	}{
		{0, 0}, {4000, 0}, {7200, 6}, {9500, 11.75}, {9700, -6 + 12*100/9600.0}, {14400, 0}, {19200, 6}, {70000, 6},
	} {
		if got := 20*math.Log10(float64(out[0][tt.at])) + 20; !near(got, tt.db, 0.02) {
			t.Errorf("at frame %d the gain is %.3f dB, not %.3f", tt.at, got, tt.db)
		}
	}
}

// Every figure of a line-up may go to the end of its range and no further.
func TestConfigRanges(t *testing.T) {
	for _, tt := range []struct {
		name       string
		set        func(c *Config, v float64)
		in, beyond float64
		say        string
	}{
		{"hold", func(c *Config, v float64) { c.LampHold = v }, 10, 10.1, "give 0 to 10"},
		{"gain", func(c *Config, v float64) { c.Channels[0].StartGainDB = v }, 120, 120.1, "at most 120 dB"},
		{"curve", func(c *Config, v float64) { c.Channels[0].GainCurve = []GainPoint{{9, v}} }, 120, 120.1, "-120 to 120"},
		{"curve down", func(c *Config, v float64) { c.Channels[0].GainCurve = []GainPoint{{9, v}} }, -120, -120.1, "-120 to 120"},
		{"curve at one position", func(c *Config, v float64) { c.Channels[0].GainCurve = []GainPoint{{9, 0}, {int64(v), 1}} }, 9, 8, "point 1"},
		{"channels", func(c *Config, v float64) {
			for range int(v) - 1 {
				c.Channels = append(c.Channels, c.Channels[0])
			}
		}, 16, 17, "17 channels are more than the 16"},
		{"sides", func(c *Config, v float64) {
			c.Channels[0].Sound = &source.Sound{}
			for range int(v) {
				c.Channels[0].Sound.Channels = append(c.Channels[0].Sound.Channels, make([]float32, 100))
			}
		}, 2, 3, "the sound has 3 channels: give one or two"},
		{"samples", func(c *Config, v float64) {
			c.Channels[0].Sound = &source.Sound{Channels: [][]float32{make([]float32, int(v))}}
		}, 1, 0, "at least one sample"},
	} {
		c := lineUp(level(0.1))
		tt.set(&c, tt.in)
		if _, err := New(c); err != nil {
			t.Errorf("%s of %v: %v", tt.name, tt.in, err)
		}
		c = lineUp(level(0.1))
		tt.set(&c, tt.beyond)
		if _, err := New(c); err == nil || !strings.Contains(err.Error(), tt.say) {
			t.Errorf("%s of %v: the error is %v, want one with %q", tt.name, tt.beyond, err, tt.say)
		}
	}
}

// What is wrong with a line-up is said in one sentence that names the field.
func TestConfigErrors(t *testing.T) {
	good := lineUp(tone(1000, -18))
	broken := level(0.1)
	broken.Channels[0][7] = float32(math.NaN())
	for _, tt := range []struct {
		name  string
		spoil func(*Config)
		say   string
	}{
		{"no channels", func(c *Config) { c.Channels = nil }, "no channels"},
		{"too many", func(c *Config) { c.Channels = make([]Channel, 17) }, "17 channels"},
		{"no sound", func(c *Config) { c.Channels[0].Sound = nil }, "channel 0: no sound"},
		{"empty sound", func(c *Config) { c.Channels[0].Sound = &source.Sound{Channels: [][]float32{{}}} }, "no sound"},
		{"three sides", func(c *Config) { c.Channels[0].Sound = &source.Sound{Channels: make([][]float32, 3)} }, "no sound"},
		{"unequal", func(c *Config) { c.Channels[0].Sound = both(level(0), tone(1, 0)) }, "differ in length (1000 and 48000 samples)"},
		{"not finite", func(c *Config) { c.Channels[0].Sound = broken }, "sample 7"},
		{"lamp", func(c *Config) { c.LampDBFS = math.NaN() }, "LampDBFS"},
		{"hold", func(c *Config) { c.LampHold = -1 }, "LampHold"},
		{"gain", func(c *Config) { c.Channels[0].StartGainDB = math.Inf(1) }, "StartGainDB"},
		{"fader", func(c *Config) { c.Channels[0].FaderDB = math.NaN() }, "FaderDB"},
		{"monitor", func(c *Config) { c.MonitorDB = math.NaN() }, "MonitorDB"},
		{"medium", func(c *Config) { c.Medium = medium.Kind("wax") }, "wax"},
		{"curve", func(c *Config) { c.Channels[0].GainCurve = []GainPoint{{9, 0}, {8, 0}} }, "gain curve"},
		{"curve level", func(c *Config) { c.Channels[0].GainCurve = []GainPoint{{9, math.NaN()}} }, "gain curve"},
	} {
		c := good
		c.Channels = append([]Channel(nil), good.Channels...)
		tt.spoil(&c)
		if _, err := New(c); err == nil || !strings.Contains(err.Error(), tt.say) {
			t.Errorf("%s: the error is %v", tt.name, err)
		}
		if _, err := Replay(c, nil, 10); err == nil {
			t.Errorf("%s: Replay gives no error", tt.name)
		}
		if _, err := Render(c, nil, 10); err == nil {
			t.Errorf("%s: Render gives no error", tt.name)
		}
		if _, err := RenderLoop(c); err == nil {
			t.Errorf("%s: RenderLoop gives no error", tt.name)
		}
	}
	for _, m := range []Move{{Control: 1}, {Control: -1}, {To: math.NaN()}} {
		if _, err := Replay(good, []Move{m}, 10); err == nil || !strings.Contains(err.Error(), "move 0") {
			t.Errorf("move %+v: the error is %v", m, err)
		}
	}
}
