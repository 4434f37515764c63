package output

import (
	"math"
	"testing"
	"time"

	"slowneedle/audio/desk"
	"slowneedle/audio/output/nullsink"
)

// begin starts a player on a sink and waits until its device takes sound.
func begin(t *testing.T, sink *nullsink.Sink) *playing {
	t.Helper()
	p := play(t, sink.Env)
	p.until("open", func(l line) bool { return !l.Silent })
	opened := time.Now()
	p.until("half a second gone", func(line) bool { return time.Since(opened) > time.Second/2 })
	return p
}

// wait lets a player play for a time.
func (p *playing) wait(d time.Duration) {
	p.t.Helper()
	from := time.Now()
	p.until("time gone", func(line) bool { return time.Since(from) > d })
}

// highest returns the highest magnitude on both sides of a recording.
func highest(sides [2][]float32) float64 {
	high := float32(0)
	for _, x := range sides {
		for _, v := range x {
			high = max(high, v, -v)
		}
	}
	return 20 * math.Log10(float64(high))
}

// The hearing is safe whatever a drill does. What came out of the sound
// server, measured by sox: the hottest desk there can be reaches the ceiling
// of -1 dBFS and does not exceed it by a sample, be it through a medium or with
// one channel heard alone past it; a program's own mistake,
// samples 32 dB above full scale past any desk, ends at full scale.
func TestWorstDrill(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	for _, tt := range []struct {
		order         string
		ceiling, most float64 // dBFS; most is what has to come out for the test to try anything
	}{
		{"digital", -1, -1.01},
		{"tape", -1, -9}, // the tape itself gives no more
		{"alone", -1, -1.01},
		{"raw", 0, -0.01},
	} {
		rec := record(t, sink)
		p := begin(t, sink)
		p.order(tt.order)
		p.wait(2500 * time.Millisecond)
		p.order("stop")
		p.wait(200 * time.Millisecond)
		p.end()
		x := rec.stop()
		high, sox := highest(x), stats(t, rec.save(0, len(x[0])), "Pk lev dB")
		t.Logf("%s: highest sample %.4f dBFS, by sox %.2f dBFS; ceiling %g dBFS", tt.order, high, sox, tt.ceiling)
		if high > tt.ceiling+1e-4 || sox > tt.ceiling+0.005 {
			t.Errorf("%s: %.4f dBFS came out, by sox %.2f; the ceiling is %g", tt.order, high, sox, tt.ceiling)
		}
		if high < tt.most {
			t.Errorf("%s: only %.2f dBFS came out", tt.order, high)
		}
	}
}

// A learner who touches nothing begins at -30 dB: full scale into the medium
// is -30 dBFS at the output. And every start is a straight line of amplitude
// over half a second, the second one and the hottest too.
func TestQuietStart(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	for _, tt := range []struct {
		order string
		peak  float64 // dBFS
		again bool    // half way: held and gone on with
	}{
		{"untouched", desk.MonitorStart, false},
		{"untouched", desk.MonitorStart, true},
		{"digital", -1, true},
		{"alone", -1, true},
	} {
		rec := record(t, sink)
		p := begin(t, sink)
		p.order(tt.order)
		p.wait(1200 * time.Millisecond)
		if tt.again {
			p.order("hold")
			p.wait(1300 * time.Millisecond)
			p.order("on")
			p.wait(1200 * time.Millisecond)
		}
		p.order("stop")
		p.wait(200 * time.Millisecond)
		p.end()
		x := rec.stop()
		high := highest(x)
		t.Logf("%s: highest sample %.3f dBFS", tt.order, high)
		if math.Abs(high-tt.peak) > 0.1 {
			t.Errorf("%s: %.2f dBFS came out, want %g", tt.order, high, tt.peak)
		}
		starts := 0
		for _, at := range begins(x[0]) {
			starts++
			full := math.Pow(10, tt.peak/20)
			for ms := 5; ms < 480; ms += 5 {
				from := at + 48*(ms-5)
				if from+240 > len(x[0]) {
					break
				}
				got := 0.0
				for _, v := range x[0][from : from+240] {
					got = max(got, math.Abs(float64(v)))
				}
				// A gap in the recording, which a busy machine makes, only
				// delays what comes.
				if limit := full * (float64(ms)/500 + 0.012); got > limit {
					t.Errorf("%s, start %d: %d ms after it the level is %.1f dBFS; the ramp allows %.1f",
						tt.order, starts, ms, 20*math.Log10(got), 20*math.Log10(limit))
					break
				}
			}
		}
		if want := map[bool]int{false: 1, true: 2}[tt.again]; starts != want {
			t.Errorf("%s: %d starts in the recording, want %d", tt.order, starts, want)
		}
	}
}

// begins returns where sound begins after at least a second of silence, longer
// than any gap that a busy machine makes.
func begins(x []float32) (at []int) {
	quiet := 48000
	for i, v := range x {
		if v == 0 {
			quiet++
			continue
		}
		if quiet >= 48000 {
			at = append(at, i)
		}
		quiet = 0
	}
	return at
}

// From the hand to the ear: the fader is asked for 6 dB more; the time until
// that comes out of the sound server's monitor, its own delay included.
func TestFaderToEar(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	rec := record(t, sink)
	p := begin(t, sink)
	p.order("start")
	p.until("1 s", func(l line) bool { return l.Heard > 48000 })
	p.order("up")
	moved := p.until("the move", func(l line) bool { return l.Moved > 0 }).Moved
	took := p.until("its stamp", func(l line) bool { return l.MoveAt > 0 })
	p.until("2 s", func(l line) bool { return l.Heard > 96000 })
	seen := p.at(took.MoveAt).UnixNano()
	p.order("stop")
	p.end()
	x := rec.stop()[0]

	// The first sample above the level before the move, past the start ramp.
	before := math.Pow(10, (-18-6-3)/20.0)
	from, at := rec.frameAt(time.Unix(0, moved)), -1
	for i := from; i < len(x); i++ {
		if math.Abs(float64(x[i])) > before*1.02 {
			at = i
			break
		}
	}
	if at < 0 {
		t.Fatal("the move was never recorded")
	}
	heard := rec.cameAt(at).UnixNano()
	ear, eye := float64(heard-moved)/1e6, float64(seen-moved)/1e6
	t.Logf("fader to ear %.1f ms, to the eye (Heard reaches the move's stamp) %.1f ms", ear, eye)
	// 160 ms on a machine that runs dry, and what recording adds.
	if ear < 20 || ear > 250 {
		t.Errorf("the move was heard after %.1f ms", ear)
	}
}

// A device that goes away in the middle of a round and comes back is heard
// again in the same round, softly, and the position never goes back.
func TestDeviceComesBack(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	p := begin(t, sink)
	p.order("start")
	for round := range 2 {
		begun := time.Now().UnixNano()
		played := p.until("sound", func(l line) bool { return l.Heard > 48000 && !l.Silent && l.Wall > begun })
		sink.Kill()
		lost := p.until("silent", func(l line) bool { return l.Silent && l.Wall > begun })
		p.until("1 s of silent clock", func(l line) bool { return l.Heard > lost.Heard+48000 })
		sink.Revive(t)
		had := time.Now().UnixNano()
		rec := record(t, sink)
		back := p.until("sound again", func(l line) bool { return l.Wall > lost.Wall && !l.Silent })
		p.until("1 s more", func(l line) bool { return l.Heard > back.Heard+48000 })
		x := rec.stop()
		want := -18 - 6 - 3.0
		if high := highest(x); math.Abs(high-want) > 0.1 {
			t.Errorf("time %d: after the device came back the tone peaks at %.2f dBFS, not %.2f", round+1, high, want)
		}
		t.Logf("time %d: lost after frame %d, silent clock from %d, sound again %.2f s after the device was there",
			round+1, played.Heard, lost.Heard, float64(back.Wall-had)/1e9)
	}
	p.order("stop")
	p.end()
	for i := 1; i < len(p.lines); i++ {
		if a, b := p.lines[i-1], p.lines[i]; b.Heard > 0 && a.Heard > b.Heard {
			t.Fatalf("heard went back from %d to %d", a.Heard, b.Heard)
		}
	}
}

// The device's callback allocates nothing.
func TestNoAllocation(t *testing.T) {
	dev := &fakeDevice{ready: true}
	o := newOutput(dev, "")
	d := untouched()
	o.Start(d)
	out := make([]float32, 2*block)
	now := o.opened
	if n := testing.AllocsPerRun(2000, func() {
		now = now.Add(7500 * time.Microsecond)
		dev.queue = 0
		o.render(dev, now, out)
		o.heard(now)
	}); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}
