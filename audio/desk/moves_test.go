package desk

import (
	"math"
	"slices"
	"sync"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"

	"slowneedle/audio/medium"
)

// A move is a straight line of amplitude over 16 ms from the start of a
// block, wherever the fader was.
func TestRamp(t *testing.T) {
	out, err := Render(lineUp(level(0.5)), []Move{{At: 6400, To: -6}, {At: 12800, To: 12}, {At: 12800 + 384, To: -36}}, 20000)
	if err != nil {
		t.Fatal(err)
	}
	x := out[0]
	low, high, floor := 0.5*math.Pow(10, -6/20.0), 0.5*math.Pow(10, 12/20.0), 0.5*math.Pow(10, -36/20.0)
	half := (low + high) / 2 // where the next move turns the fader back
	for _, tt := range []struct {
		at   int
		want float64
	}{
		{6399, 0.5}, {6400, 0.5}, {6400 + 384, (0.5 + low) / 2}, {6400 + 768, low}, {12800, low},
		{12800 + 384, min(half, 1)}, {12800 + 384 + 384, (half + floor) / 2}, {12800 + 384 + 768, floor},
	} {
		if !near(float64(x[tt.at]), tt.want, 1e-5) {
			t.Errorf("frame %d is %.6f, not %.6f", tt.at, x[tt.at], tt.want)
		}
	}
}

// A fader pulled without pause makes no zipper noise: beside a 1 kHz tone
// all that is above 3 kHz stays 80 dB below it.
func TestNoZipper(t *testing.T) {
	var moves []Move
	for i := range 80 {
		moves = append(moves, Move{At: int64(second/4 + i*480), To: float64(-40+i)/4 - 2})
	}
	out, err := Render(lineUp(tone(1000, -6)), moves, 2*second)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, second)
	for i := range x {
		w := math.Sin(math.Pi * float64(i) / second)
		x[i] = float64(out[0][i]) * w * w
	}
	var tone, noise float64
	for hz, c := range fourier.NewFFT(second).Coefficients(nil, x) {
		power := real(c)*real(c) + imag(c)*imag(c)
		if hz > 3000 {
			noise += power
		} else {
			tone += power
		}
	}
	if got := 10 * math.Log10(noise/tone); got > -80 {
		t.Errorf("moving the fader leaves %.1f dB above 3 kHz", got)
	} else {
		t.Logf("moving the fader leaves %.1f dB above 3 kHz", got)
	}
}

// Requests are kept within the travel and rounded to 0.1 dB; only changes
// count as moves, stamped with the start of the block after the request.
func TestMoves(t *testing.T) {
	c := lineUp(tone(1000, -18), tone(500, -18))
	c.Channels[0].FaderDB = FaderMin
	d := mustNew(t, c)
	if got := d.Fader(0); got != FaderMin {
		t.Errorf("the fader starts at %v", got)
	}
	for _, tt := range []struct{ ask, want float64 }{
		{-10.04, -10}, {-10.06, -10.1}, {99, FaderMax}, {-99, FaderMin}, {math.NaN(), FaderMin},
		{math.Inf(1), FaderMax}, {0.049, 0}, {-0.05, -0.1},
	} {
		d.SetFader(0, tt.ask)
		if got := d.Fader(0); got != tt.want {
			t.Errorf("asked for %v the fader goes to %v, not %v", tt.ask, got, tt.want)
		}
	}
	d = mustNew(t, c)
	run(d, 100)
	d.SetFader(0, -5)
	run(d, 10) // the block at 64 is under way
	d.SetFader(0, -4)
	run(d, 100)
	d.SetFader(0, -4)
	d.SetFader(1, -2)
	d.SetFader(7, 1)
	d.SetFader(-1, 1)
	run(d, 100)
	want := []Move{{128, 0, -4}, {256, 1, -2}}
	if got := d.Moves(); !slices.Equal(got, want) {
		t.Errorf("the moves are %v, not %v", got, want)
	}
}

// Long sessions: memory is bounded, the first moves stay as they were, and
// where each fader ended is not lost.
func TestManyMoves(t *testing.T) {
	d := mustNew(t, lineUp(level(0.1), level(0.1)))
	buf := make([]float32, 2*block)
	const n = 20000
	for i := range n {
		d.SetFader(i%2, float64(i%240)/10-12)
		d.Pull(buf)
	}
	m := d.Moves()
	if len(m) != maxMoves+2 {
		t.Errorf("%d moves are kept", len(m))
	}
	for i := range maxMoves {
		if want := (Move{int64(i * block), i % 2, float64(int64(math.Round((float64(i%240)/10-12)*10))) / 10}); m[i] != want {
			t.Fatalf("move %d is %v, not %v", i, m[i], want)
		}
	}
	again, rest := mustNew(t, lineUp(level(0.1), level(0.1))), m
	for range n {
		rest = again.ask(rest)
		again.Pull(buf)
	}
	for ch := range 2 {
		if got := again.Fader(ch); got != d.Fader(ch) {
			t.Errorf("replayed, fader %d ends at %v, not %v", ch, got, d.Fader(ch))
		}
	}
	if last := m[len(m)-1]; last.At != (n-1)*block {
		t.Errorf("the last move is stamped %d", last.At)
	}
}

// The same moves in blocks of any sizes give the same sound and the same
// snapshots, and Replay and Render give them again.
func TestAnyBlocksAndReplay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := lineUp(tone(440, -8), both(tone(1000, -12), tone(3000, -20)))
		if rapid.Bool().Draw(t, "mono") {
			c.Channels = c.Channels[:1]
		}
		c.Medium = rapid.SampledFrom([]medium.Kind{medium.KindDigital, medium.KindTape}).Draw(t, "medium")
		c.Seed = 11
		live := mustNewRapid(t, c)
		var heard []float32
		blocks := rapid.SliceOfN(rapid.IntRange(1, 1500), 1, 12).Draw(t, "blocks")
		for i, n := range blocks {
			if rapid.Bool().Draw(t, "move") {
				live.SetFader(i%2, rapid.Float64Range(-40, 15).Draw(t, "to"))
			}
			heard = append(heard, run(live, n)...)
		}
		frames := live.Position()
		moves := live.Moves()

		again := mustNewRapid(t, c)
		var second []float32
		rest := moves
		for int64(len(second)/2) < frames {
			rest = again.ask(rest)
			second = append(second, run(again, block)...)
		}
		if !slices.Equal(heard, second[:len(heard)]) {
			t.Fatal("in other blocks the same moves sound different")
		}

		var seen []Snapshot
		last, err := Watch(c, moves, frames, func(s Snapshot) { seen = append(seen, s) })
		if err != nil {
			t.Fatal(err)
		}
		want := live.Since(nil, -1)
		for len(want) > 0 && want[len(want)-1].At > frames {
			want = want[:len(want)-1]
		}
		if !slices.Equal(seen, want) {
			t.Fatalf("replayed, the %d snapshots are not the %d of the live desk", len(seen), len(want))
		}
		if last != want[len(want)-1] {
			t.Fatalf("the last is %+v", last)
		}
	})
}

func mustNewRapid(t *rapid.T, c Config) *Desk {
	d, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// What Render gives is what the medium gave the monitor, and lies where the
// meters read it: the tape's delay is taken off.
func TestRenderIsAligned(t *testing.T) {
	for _, k := range []medium.Kind{medium.KindDigital, medium.KindTape} {
		c := lineUp(tone(100, -18))
		c.Medium = k
		out, err := Render(c, nil, second)
		if err != nil {
			t.Fatal(err)
		}
		if len(out[0]) != second || len(out[1]) != second {
			t.Fatalf("%s: %d and %d frames", k, len(out[0]), len(out[1]))
		}
		var re, im float64
		for i, v := range out[0] {
			s, c := math.Sincos(2 * math.Pi * 100 * float64(i) / second)
			re += float64(v) * s
			im += float64(v) * c
		}
		if late := -math.Atan2(im, re) / (2 * math.Pi * 100) * second; !near(late, 0, 0.5) {
			t.Errorf("%s: the recording is %.2f frames late", k, late)
		}
		if got := 20 * math.Log10(2*math.Hypot(re, im)/second); !near(got, -18, 0.15) {
			t.Errorf("%s: a tone at 0 VU is recorded at %.2f dBFS", k, got)
		}
	}
}

// A desk is read and moved from other goroutines while it is pulled.
func TestOtherGoroutines(t *testing.T) {
	c := lineUp(tone(1000, -18), tone(500, -30))
	c.ChannelMeters = true
	d := mustNew(t, c)
	var wg sync.WaitGroup
	stop := make(chan struct{})
	for _, f := range []func(int){
		func(i int) { d.SetFader(i%2, float64(i%40-20)) },
		func(i int) { d.SetMonitor(float64(-i % 50)); d.SetListen(i%3 - 1) },
		func(i int) { d.Since(nil, 0); d.Moves() },
		func(i int) {
			if s, ok := d.At(d.Position()); ok && s.At > d.Position()+block {
				t.Errorf("the snapshot at %d is stamped %d", d.Position(), s.At)
			}
			d.ChannelAt(1, d.Position())
		},
	} {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := 0; ; i++ {
				select {
				case <-stop:
					return
				default:
					f(i)
				}
			}
		}()
	}
	for range 300 {
		run(d, 480)
	}
	close(stop)
	wg.Wait()
	run(d, block)
	if got := d.Since(nil, -1); len(got) != 301 {
		t.Errorf("%d snapshots were kept, not 301", len(got))
	}
}
