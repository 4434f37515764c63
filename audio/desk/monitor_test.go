package desk

import (
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"slowneedle/audio/medium"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
)

// The monitor starts low, fades in over half a second, and is its own control.
func TestMonitor(t *testing.T) {
	for _, tt := range []struct{ set, want float64 }{
		{0, MonitorStart}, {-12, -12}, {-1, -1}, {3, MonitorMax}, {-60, math.Inf(-1)}, {-100, math.Inf(-1)},
	} {
		c := lineUp(level(0.5))
		c.MonitorDB = tt.set
		d := mustNew(t, c)
		out := run(d, second)
		for _, at := range []int{0, 480, 12000, 23999, 24000, 40000} {
			want := 0.5 * math.Pow(10, tt.want/20) * min(1, float64(at)/24000)
			if got := float64(out[2*at]); !near(got, want, 1e-4) {
				t.Errorf("monitor at %v: frame %d is %.5f, not %.5f", tt.set, at, got, want)
			}
		}
		// It glides, and the meters do not notice.
		d.SetMonitor(-20)
		out = append(out, run(d, second/2)...)
		if got := float64(out[len(out)-1]); !near(got, 0.05, 1e-5) {
			t.Errorf("set to -20 dB the monitor gives %.5f", got)
		}
		for i := 2; i < len(out); i += 2 {
			if step := math.Abs(float64(out[i] - out[i-2])); step > 0.5/768+1e-6 {
				t.Fatalf("monitor from %v to -20: a step of %.5f at frame %d", tt.set, step, i/2)
			}
		}
		if got := newest(t, d).PeakDBFS[0]; !near(got, -6.02, 0.01) {
			t.Errorf("the meter follows the monitor: %.2f dBFS", got)
		}
	}
}

// Nothing that leaves exceeds the ceiling: sixteen full-scale channels, all
// faders up, the monitor at its top, on either medium, heard alone or not.
func TestCeiling(t *testing.T) {
	for _, k := range []medium.Kind{medium.KindDigital, medium.KindTape} {
		var s []*source.Sound
		for range maxChannels {
			s = append(s, both(tone(100, 0), tone(300, 0)))
		}
		s[1], s[2] = level(1), both(level(math.MaxFloat32), level(-math.MaxFloat32))
		c := lineUp(s...)
		c.Medium, c.MonitorDB = k, MonitorMax
		for i := range c.Channels {
			c.Channels[i].FaderDB, c.Channels[i].StartGainDB = FaderMax, 100
		}
		d := mustNew(t, c)
		high := float32(0)
		for i := range 20 {
			d.SetListen(i%4 - 1)
			for _, v := range run(d, second/10) {
				if !(v >= -Ceiling && v <= Ceiling) {
					t.Fatalf("%s: %v left the desk", k, v)
				}
				high = max(high, v)
			}
		}
		if high < 0.5 {
			t.Errorf("%s: the highest sample is only %v", k, high)
		}
	}
	if got := 20 * math.Log10(Ceiling); !near(got, -1, 1e-5) {
		t.Errorf("the ceiling is %.4f dBFS", got)
	}
}

// One channel heard alone: only the monitor changes, without a click.
func TestListen(t *testing.T) {
	c := lineUp(level(0.2), level(0.1))
	c.MonitorDB = -20
	d := mustNew(t, c)
	out := run(d, second)
	for _, tt := range []struct {
		listen int
		want   float64
	}{{0, 0.02}, {1, 0.01}, {-1, 0.03}, {5, 0.03}, {1, 0.01}} {
		d.SetListen(tt.listen)
		out = append(out, run(d, second/10)...)
		if got := float64(out[len(out)-1]); !near(got, tt.want, 1e-5) {
			t.Errorf("listening to %d gives %.5f, not %.3f", tt.listen, got, tt.want)
		}
		if got := newest(t, d).PeakDBFS[0]; !near(got, 20*math.Log10(0.3), 0.01) {
			t.Errorf("listening to %d the meter shows %.2f dBFS", tt.listen, got)
		}
	}
	for i := 2; i < len(out); i += 2 {
		if step := math.Abs(float64(out[i] - out[i-2])); step > 0.03/768+1e-6 {
			t.Fatalf("a step of %.6f at frame %d", step, i/2)
		}
	}
}

// noise is a loop of fixed noise on two sides.
func noise(frames int) [2][]float32 {
	var out [2][]float32
	x := uint32(1)
	for ch := range out {
		for range frames {
			x = x*1664525 + 1013904223
			out[ch] = append(out[ch], float32(int32(x))/(1<<32))
		}
	}
	return out
}

// Switching between two takes leaves no gap: between two equal ones nothing
// happens at all, between two levels the way is straight and 16 ms long.
func TestCompareSwitch(t *testing.T) {
	a := noise(10007)
	still, switched := NewCompare(a, a, -10), NewCompare(a, a, -10)
	for i := range 100 {
		if i%7 == 3 {
			switched.SetListen(i & 1)
		}
		x, y := run(still, 700), run(switched, 700)
		for k := range x {
			if !near(float64(x[k]), float64(y[k]), 1e-7) {
				t.Fatalf("switching between equal takes is heard at sample %d: %v, %v", k, x[k], y[k])
			}
		}
	}
	one := level(0.1).Channels[0]
	two := level(0.3).Channels[0]
	c := NewCompare([2][]float32{one, one}, [2][]float32{two, two}, -20)
	out := run(c, second)
	if got := out[len(out)-1]; !near(float64(got), 0.01, 1e-6) {
		t.Errorf("the first is heard at %v", got)
	}
	c.SetListen(1)
	out = run(c, second/10)
	for _, tt := range []struct {
		frame int
		want  float64
	}{{0, 0.01}, {384, 0.02}, {768 + 64, 0.03}, {second/10 - 1, 0.03}} {
		if got := float64(out[2*tt.frame]); !near(got, tt.want, 0.002) {
			t.Errorf("%d frames after the switch comes %.4f, not %.3f", tt.frame, got, tt.want)
		}
	}
	for i := 2; i < len(out); i += 2 {
		if step := out[i] - out[i-2]; step < 0 || step > 0.02/768+1e-6 {
			t.Fatalf("a step of %v on the way", step)
		}
	}
}

// Until a channel is asked for alone, all are heard: two constants of 0.1 and 0.2 of full
// scale as 0.3, turned down by 20 dB.
func TestAllAreHeardAtFirst(t *testing.T) {
	c := lineUp(level(0.1), level(0.2))
	c.MonitorDB = -20
	out := run(mustNew(t, c), second)
	for _, got := range out[len(out)-2:] {
		if !near(float64(got), 0.03, 1e-6) {
			t.Errorf("%v is heard", got)
		}
	}
}

// Where lengths differ the shortest counts, whichever it is: then everything comes round
// after that many frames.
func TestCompareLengths(t *testing.T) {
	const frames = 100
	for short := range 4 {
		var sides [4][]float32
		for i := range sides {
			sides[i] = make([]float32, 3*frames)
			for k := range sides[i] {
				sides[i][k] = 0.1 * float32(k%(2*frames)) / frames
			}
		}
		sides[short] = sides[short][:frames]
		d := NewCompare([2][]float32{sides[0], sides[1]}, [2][]float32{sides[2], sides[3]}, -20)
		d.SetListen(short / 2)
		run(d, second)
		out := run(d, 4*frames)
		for i := range out[2*frames:] {
			if a, b := out[i], out[i+2*frames]; !near(float64(a), float64(b), 1e-6) {
				t.Errorf("side %d is the shortest: after its length %v comes back as %v", short, a, b)
				break
			}
		}
		if lowest, highest := slices.Min(out), slices.Max(out); !near(float64(highest-lowest), 0.01*(frames-1)/frames, 1e-6) {
			t.Errorf("side %d is the shortest: %v to %v is heard", short, lowest, highest)
		}
	}
}

// Between blocks of 64 frames Render and RenderLoop let others work.
func TestRenderPauses(t *testing.T) {
	c, pauses := lineUp(level(0.1)), 0
	c.Pause = func() { pauses++ }
	if _, err := Render(c, nil, 64*50); err != nil || pauses < 49 {
		t.Errorf("50 blocks with %d pauses, %v", pauses, err)
	}
	pauses = 0
	if _, err := RenderLoop(c); err != nil || pauses < 1000/64 {
		t.Errorf("a loop of 1000 frames with %d pauses, %v", pauses, err)
	}
}

// A comparison starts softly, is no louder than full scale at the monitor's level,
// keeps the ceiling and takes odd input.
func TestCompareSafety(t *testing.T) {
	loud := level(5).Channels[0]
	x := [2][]float32{loud, loud}
	c := NewCompare(x, x, 0)
	out := run(c, second)
	for _, at := range []int{0, 2400, 12000} {
		want := math.Pow(10, MonitorStart/20.0) * float64(at) / 24000
		if got := float64(out[2*at]); !near(got, want, 1e-3) {
			t.Errorf("frame %d of the start is %.4f, not %.4f", at, got, want)
		}
	}
	c.SetMonitor(20)
	out = run(c, second)
	if high := slices.Max(out); high != Ceiling {
		t.Errorf("the highest sample is %v", high)
	}
	if high := slices.Max(run(NewCompare([2][]float32{}, x, -10), second)); high != 0 {
		t.Errorf("a take without samples is heard: %v", high)
	}
}

// Brought to the same loudness, two takes agree within 0.3 LU by a
// reference program's reading of BS.1770 (ffmpeg's ebur128).
func TestMatch(t *testing.T) {
	c := lineUp(both(tone(997, -14), tone(220, -20)))
	c.Channels[0].Sound.Channels[0] = slices.Concat(c.Channels[0].Sound.Channels[0], make([]float32, second/2), noise(3 * second / 2)[0])
	c.Channels[0].Sound.Channels[1] = c.Channels[0].Sound.Channels[0]
	for _, k := range []medium.Kind{medium.KindDigital, medium.KindTape} {
		c.Medium = k
		c.Channels[0].FaderDB = 0
		aim, err := RenderLoop(c)
		if err != nil {
			t.Fatal(err)
		}
		want := reference(t, aim)
		for _, fader := range []float64{-24, -6, 8, 12} {
			c.Channels[0].FaderDB = fader
			take, err := RenderLoop(c)
			if err != nil {
				t.Fatal(err)
			}
			got := reference(t, Amplify(take, Match(take, aim)))
			t.Logf("%s at %+v dB: %.1f LUFS, the aim's %.1f", k, fader, got, want)
			if !near(got, want, 0.3) {
				t.Errorf("%s at %+v dB: matched the take has %.1f LUFS, the aim %.1f", k, fader, got, want)
			}
		}
	}
	if got := Match([2][]float32{}, noise(second)); got != 0 {
		t.Errorf("nothing is matched by %v dB", got)
	}
}

var integrated = regexp.MustCompile(`(?s)Integrated loudness:\s+I:\s+(-?[\d.]+) LUFS`)

// reference is the integrated loudness of a recording by ffmpeg.
func reference(t *testing.T, x [2][]float32) float64 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "take.wav")
	w, err := wavfile.Create(path, wavfile.Format{SampleRate: second, Channels: 2, Bits: 32, Float: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x[:]); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("ffmpeg", "-nostats", "-i", path, "-af", "ebur128", "-f", "null", "-").CombinedOutput()
	if err != nil {
		t.Fatalf("ffmpeg: %v: %s", err, out)
	}
	m := integrated.FindSubmatch(out)
	if m == nil {
		t.Fatalf("ffmpeg gave no loudness: %s", out)
	}
	v, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// A rendered loop goes round without a seam: the step from its end to its
// start is one like any other.
func TestRenderLoopSeam(t *testing.T) {
	for _, k := range []medium.Kind{medium.KindDigital, medium.KindTape} {
		c := lineUp(tone(1000, -6))
		c.Medium = k
		loop, err := RenderLoop(c)
		if err != nil {
			t.Fatal(err)
		}
		x := loop[0]
		if len(x) != second {
			t.Fatalf("%s: the loop has %d frames", k, len(x))
		}
		// Of a sine the second difference is -w² x; noise adds a little.
		w2 := math.Pow(2*math.Pi*1000/second, 2)
		for i := range x {
			a, b, c := float64(x[(i+len(x)-1)%len(x)]), float64(x[i]), float64(x[(i+1)%len(x)])
			if bend := a - 2*b + c + w2*b; math.Abs(bend) > 0.008 {
				t.Fatalf("%s: at frame %d the wave bends by %.5f", k, i, bend)
			}
		}
	}
}

// A rendered loop begins where the sound does, so that two of them are in step: sample for
// sample but for the dither of 24 bits.
func TestRenderLoopBegins(t *testing.T) {
	x := noise(10007)
	loop, err := RenderLoop(lineUp(&source.Sound{Channels: x[:]}))
	if err != nil {
		t.Fatal(err)
	}
	for ch := range x {
		for i, v := range x[ch] {
			if !near(float64(loop[ch][i]), float64(v), 1.0/(1<<21)) {
				t.Fatalf("side %d, frame %d: %v, the sound has %v", ch, i, loop[ch][i], v)
			}
		}
	}
}

// What leaves is limited on its own side of zero; what is not a number is silence.
func TestLimits(t *testing.T) {
	nan := float32(math.NaN())
	for _, tt := range []struct{ x, full, under float32 }{
		{0, 0, 0}, {0.5, 0.5, 0.5}, {-0.5, -0.5, -0.5}, {1, 1, Ceiling}, {-1, -1, -Ceiling},
		{7, 1, Ceiling}, {-7, -1, -Ceiling}, {Ceiling, Ceiling, Ceiling}, {-Ceiling, -Ceiling, -Ceiling},
	} {
		if got := fullScale(tt.x); got != tt.full {
			t.Errorf("%v within full scale is %v, want %v", tt.x, got, tt.full)
		}
		if got := ceil(tt.x); got != tt.under {
			t.Errorf("%v under the ceiling is %v, want %v", tt.x, got, tt.under)
		}
	}
	if got := ceil(fullScale(nan)); got != 0 {
		t.Errorf("what is not a number leaves as %v", got)
	}
}
