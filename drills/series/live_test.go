package series_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/listen"
	"slowneedle/drills"
	"slowneedle/drills/series"
)

// loop is a desk that a live series goes through: its output comes back later, at a
// gain, with hiss.
type loop struct {
	t     *testing.T
	live  *series.Live
	ear   *listen.Ear
	gain  float64 // dB
	way   [2][]float32
	noise *rand.Rand
}

// newLoop has a way of so many frames. The input had been open for a while.
func newLoop(t *testing.T, frames int) *loop {
	l := &loop{t: t, ear: listen.New(series.KeepSeconds, -6, 0.15), noise: rand.New(rand.NewPCG(1, 1))}
	p := plan(77, 4, 10)
	l.live = series.NewLive(p, l.ear, -12)
	for ch := range l.way {
		l.way[ch] = make([]float32, frames)
	}
	l.ear.Take([2][]float32{make([]float32, 12345), make([]float32, 12345)})
	return l
}

// run lets the loop run until something holds, within a limit of seconds.
func (l *loop) run(limit float64, until func() bool) {
	l.t.Helper()
	out := make([]float32, 2*360)
	for range int(limit * audio.Rate / 360) {
		if until() {
			return
		}
		l.live.Pull(out)
		g := float32(audio.Gain(l.gain))
		for i := 0; i < len(out); i += 2 {
			for ch := range l.way {
				hiss := float32(audio.Gain(-70)) * (2*l.noise.Float32() - 1)
				l.way[ch] = append(l.way[ch], g*out[i+ch]+hiss)
			}
		}
		l.ear.Take([2][]float32{l.way[0][:360], l.way[1][:360]})
		for ch := range l.way {
			l.way[ch] = l.way[ch][360:]
		}
		l.live.Update()
	}
	l.t.Fatalf("it does not come to that within %g s", limit)
}

// seconds lets it run for a time.
func (l *loop) seconds(s float64) {
	l.t.Helper()
	end := l.live.Position() + int64(s*audio.Rate)
	l.run(s+1, func() bool { return l.live.Position() >= end })
}

// A series through a desk whose gain is known: every change is right to 0.1 dB, and the
// length of the way is found.
func TestLive(t *testing.T) {
	for _, way := range []int{700, 9600} {
		l := newLoop(t, way)
		l.gain = -3
		l.run(8, l.live.Steady)
		if got := l.live.Reference(); math.Abs(got-(-18-12-3)) > 0.1 {
			t.Errorf("the tone comes back at %.2f dBFS, want -33", got)
		}
		for i, off := range []float64{0, 2.5, -3, 0.4} {
			e, err := l.live.Begin(i)
			if err != nil {
				t.Fatal(err)
			}
			l.run(6, l.live.Known)
			if got := l.live.Latency(); math.Abs(got-float64(way)/audio.Rate) > 0.02 {
				t.Errorf("the way takes %.3f s, want %.3f", got, float64(way)/audio.Rate)
			}
			aim := e.Channels[0].AimDB
			l.gain = -3 + aim - 6
			l.seconds(3)
			l.gain = -3 + aim + off
			l.seconds(9)
			r, err := l.live.Lock()
			if err != nil {
				t.Fatalf("round %d, %s: %v", i+1, e.Channels[0].Sound.Kind, err)
			}
			if math.Abs(float64(r.ErrorDB)-off) > 0.11 || math.Abs(float64(r.ChangeDB)-aim-off) > 0.1 || r.InWindow != (math.Abs(off) <= 1) {
				t.Errorf("%s: change %.2f dB, %+.1f dB off, right %v; want %.2f, %+.1f", r.Kind, float64(r.ChangeDB), float64(r.ErrorDB), r.InWindow, aim+off, off)
			}
		}
	}
}

// A gap in the sound, as on a busy machine, moves all that follows by its length: a
// round is judged on what came after it.
func TestLiveGap(t *testing.T) {
	l := newLoop(t, 3000)
	l.run(8, l.live.Steady)
	e, err := l.live.Begin(1)
	if err != nil {
		t.Fatal(err)
	}
	l.run(6, l.live.Known)
	l.gain = e.Channels[0].AimDB
	l.seconds(6)
	gap := make([]float32, audio.Rate/8)
	l.ear.Take([2][]float32{gap, gap})
	l.seconds(6)
	r, err := l.live.Lock()
	if err != nil || math.Abs(float64(r.ChangeDB)-l.gain) > 0.1 {
		t.Errorf("change %v dB, %v; want %.2f", r.ChangeDB, err, l.gain)
	}
}

// A round cannot be locked while its level moves, nor before it has come back, and a
// desk that lets the sweep go is lined up again.
func TestLiveNotYet(t *testing.T) {
	l := newLoop(t, 3000)
	l.run(8, l.live.Steady)
	if _, err := l.live.Begin(0); err != nil {
		t.Fatal(err)
	}
	if _, err := l.live.Lock(); err == nil || !strings.Contains(err.Error(), "at least 3 seconds") {
		t.Errorf("at once: %v", err)
	}
	l.run(6, l.live.Known)
	for range 40 { // a hand that never rests
		l.gain += 0.6
		l.seconds(0.2)
	}
	if _, err := l.live.Lock(); err == nil || !strings.Contains(err.Error(), "has not held") {
		t.Errorf("while it moves: %v", err)
	}
	l.live.Silence() // as behind another screen
	l.seconds(6)
	if _, err := l.live.Lock(); err == nil || !strings.Contains(err.Error(), "at least 3 seconds") {
		t.Errorf("of a silent round: %v", err)
	}
	l.gain = -100
	if _, err := l.live.Begin(0); err != nil {
		t.Fatal(err)
	}
	l.run(8, l.live.Lost)
	if l.live.Playing() || l.live.Steady() {
		t.Error("it goes on although the sweep did not come back")
	}
}

// What goes out begins softly, over half a second, and at no more than a monitor
// control allows, whatever is asked for: the tone of -18 dBFS 1 dB down.
func TestLiveIsSafe(t *testing.T) {
	ear := listen.New(series.KeepSeconds, -6, 0.15)
	p := plan(77, 1, 10)
	p.Rig = drills.DigitalRig()
	l := series.NewLive(p, ear, 99)
	out := make([]float32, 2*audio.Rate)
	l.Pull(out)
	for i := range out {
		bound := 1.001 * audio.Gain(-19) * min(1, float64(i/2+1)/(audio.Rate/2))
		if v := math.Abs(float64(out[i])); v > bound {
			t.Fatalf("%.4f after %d frames, want at most %.4f", v, i/2, bound)
		}
	}
}
