package output

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"slowneedle/audio"
)

// fakeDevice takes blocks when the test says so.
type fakeDevice struct {
	ready  bool
	err    error
	opened time.Time
	queue  int // frames read and not taken
	dry    int // how often it was asked to read further ahead
}

func (d *fakeDevice) state() (bool, error) { return d.ready, d.err }
func (d *fakeDevice) unplayed() int        { return d.queue }
func (d *fakeDevice) latency() int         { return 2000 }
func (d *fakeDevice) readAhead()           { d.dry++ }

// read is the device taking n frames and reading as many.
func (d *fakeDevice) read(o *Output, now time.Time, n int) []float32 {
	d.queue = max(0, d.queue-n)
	out := make([]float32, 2*n)
	for i := 0; i < len(out); i += 2 * block {
		part := out[i:min(i+2*block, len(out))]
		o.render(d, now, part)
		d.queue += len(part) / 2
	}
	return out
}

// ones is a puller that gives the same sample for ever.
type ones struct {
	value float32
	at    int64
}

func (p *ones) Pull(out []float32) {
	for i := range out {
		out[i] = p.value
	}
	p.at += int64(len(out) / 2)
}

func (p *ones) Position() int64 { return p.at }

// However often it is started, stopped and held between two readings of the device,
// what goes out has no step: what was to fade out is not cut off by what comes next.
func TestNoStepBetweenReadings(t *testing.T) {
	for name, hands := range map[string]func(*Output){
		"started and started again": func(o *Output) { o.Start(&ones{}); o.Start(&ones{}) },
		"started and stopped":       func(o *Output) { o.Start(&ones{}); o.Stop() },
		"held, resumed, held":       func(o *Output) { o.Pause(true); o.Pause(false); o.Pause(true) },
		"started twice and held":    func(o *Output) { o.Start(&ones{}); o.Start(&ones{}); o.Pause(true) },
		"two loud ones": func(o *Output) {
			o.Start(&ones{value: 0.8, at: 1})
			o.Start(&ones{value: 0.8, at: 1})
			o.Stop()
		},
	} {
		for _, read := range []int{0, 100, 2 * block} { // frames of the tail that are out already
			dev := &fakeDevice{ready: true}
			o := newOutput(dev, "")
			o.Start(&ones{value: 0.8})
			dev.read(o, o.opened, audio.Rate) // faded in entirely
			out := dev.read(o, o.opened.Add(time.Second), 960)
			if read > 0 {
				o.Stop()
				out = append(out, dev.read(o, o.opened.Add(time.Second), read)...)
			}
			hands(o)
			out = append(out, dev.read(o, o.opened.Add(time.Second), 4*block)...)
			if out[0] != 0.8 || out[len(out)-2] > 0.05 {
				t.Errorf("%s: goes from %v to %v, want 0.8 to next to nothing", name, out[0], out[len(out)-2])
			}
			for i := 2; i < len(out); i++ {
				if step := math.Abs(float64(out[i] - out[i-2])); step > 0.01 {
					t.Fatalf("%s, %d frames read in between: a step of %.3f at frame %d", name, read, step, i/2)
				}
			}
		}
	}
}

// A round that goes from the silent clock to a device that comes late, and
// back when the device is lost, runs on in real time: nothing is pulled twice
// or ahead of time, and the position heard never goes back nor leaves the
// true time by more than the device's own buffer.
func TestClockAndDeviceChange(t *testing.T) {
	dev := &fakeDevice{}
	o := newOutput(dev, "")
	p := &ones{value: 0.5}
	start := o.opened
	o.Start(p)
	var last int64
	for ms := 0; ms < 6000; ms += 5 {
		now := start.Add(time.Duration(ms) * time.Millisecond)
		switch {
		case ms < 2000: // clock
		case ms < 4000: // device, a block every 20 ms
			dev.ready = true
			if ms%20 == 0 {
				dev.read(o, now, 960)
			}
		case ms == 4000:
			dev.err = errors.New("gone")
		}
		o.tick(now)
		heard := o.heard(now)
		if heard < last {
			t.Fatalf("at %d ms heard went back from %d to %d", ms, last, heard)
		}
		last = heard
		if heard > p.at {
			t.Fatalf("at %d ms frame %d is heard, only %d were pulled", ms, heard, p.at)
		}
		if off := float64(heard) - float64(ms)*48; off > 500 || off < -4500 {
			t.Fatalf("at %d ms the position heard is off by %.0f frames", ms, off)
		}
		if ahead := float64(p.at) - float64(ms)*48; ahead > 3000 {
			t.Fatalf("at %d ms %.0f frames are pulled ahead of time", ms, ahead)
		}
		silent, why := o.Silent()
		if live := ms >= 2000 && ms < 4000; live == silent && ms > 4000 {
			t.Fatalf("at %d ms Silent says %v %q", ms, silent, why)
		}
	}
	if p.at != o.count {
		t.Errorf("%d frames were pulled, %d counted", p.at, o.count)
	}
}

// A device that stops reading without an error counts as lost after 0.7 s; if
// it reads again it plays again.
func TestDeviceStalls(t *testing.T) {
	dev := &fakeDevice{ready: true}
	o := newOutput(dev, "")
	o.Start(&ones{})
	now := o.opened
	dev.read(o, now, 960)
	for _, tt := range []struct {
		after time.Duration
		want  string
	}{
		{690 * time.Millisecond, ""},
		{710 * time.Millisecond, "no sound: meters only (the sound device has stopped taking sound)"},
	} {
		o.tick(now.Add(tt.after))
		if _, why := o.Silent(); why != tt.want {
			t.Errorf("after %v Silent says %q, not %q", tt.after, why, tt.want)
		}
	}
	dev.read(o, now.Add(time.Second), 960)
	if silent, why := o.Silent(); silent {
		t.Errorf("after reading again Silent says %q", why)
	}
}

// Another device in the place of one that failed: the silent clock bridges the
// gap, the new one begins softly where the puller stands, and what the failed
// one still asks for is silence and moves nothing.
func TestAnotherDevice(t *testing.T) {
	old, dev := &fakeDevice{ready: true}, &fakeDevice{}
	o := newOutput(old, "")
	p := &ones{value: 0.5}
	o.Start(p)
	var last int64
	for ms := 0; ms < 6000; ms += 5 {
		now := o.opened.Add(time.Duration(ms) * time.Millisecond)
		if ms >= 3000 {
			now = dev.opened.Add(time.Duration(ms-3000) * time.Millisecond)
		}
		switch {
		case ms < 2000 && ms%20 == 0:
			old.read(o, now, 960)
		case ms == 2000:
			old.err = errors.New("gone")
			if !o.failed() {
				t.Fatal("a device with an error counts as good")
			}
		case ms == 2995:
			dev.opened = now.Add(5 * time.Millisecond)
			o.replace(dev)
			if o.failed() {
				t.Fatal("the new device counts as failed")
			}
		case ms == 3200:
			dev.ready = true
			out := dev.read(o, now, 960)
			if out[0] != 0 || out[2*900] < 0.01 || out[2*900] > 0.03 {
				t.Errorf("the new device begins with %v and has %v after 900 frames", out[0], out[2*900])
			}
		case ms > 3200 && ms%20 == 0:
			dev.read(o, now, 960)
		}
		if ms >= 3000 && ms%100 == 0 {
			before := p.at
			for _, v := range old.read(o, now, 100) {
				if v != 0 {
					t.Fatalf("at %d ms the failed device is given %v", ms, v)
				}
			}
			if p.at != before {
				t.Fatalf("at %d ms the failed device pulled %d frames", ms, p.at-before)
			}
		}
		o.tick(now)
		heard := o.heard(now)
		if off := float64(heard) - float64(ms)*48; heard < last || off > 500 || off < -4500 {
			t.Fatalf("at %d ms frame %d is heard, after %d", ms, heard, last)
		}
		last = heard
	}
	if silent, why := o.Silent(); silent {
		t.Errorf("with the new device Silent says %q", why)
	}
	if p.at != o.count {
		t.Errorf("%d frames were pulled, %d counted", p.at, o.count)
	}
}

// Between blocks the position heard moves with the clock, and late calls of
// the device do not make it jump.
func TestHeardIsSmooth(t *testing.T) {
	dev := &fakeDevice{ready: true}
	o := newOutput(dev, "")
	o.Start(&ones{})
	late := []int{0, 3, 1, 9, 0, 2, 0, 14, 1, 0} // ms
	var last int64
	for ms := 0; ms < 4000; ms++ {
		now := o.opened.Add(time.Duration(ms) * time.Millisecond)
		k := ms / 20 % len(late)
		if ms%20 == late[k] {
			dev.read(o, now, 960)
		}
		heard := o.heard(now)
		if ms > 500 {
			if step := heard - last; step < 0 || step > 3*48 {
				t.Fatalf("at %d ms the position moved by %d frames in a millisecond", ms, step)
			}
			// The device's true position: one block every 20 ms.
			truth := int64(ms)*48 - 2000
			if off := heard - truth; off < -480 || off > 480 {
				t.Fatalf("at %d ms the position heard is %d frames off", ms, off)
			}
		}
		last = heard
	}
}

// A device that comes late in a round begins softly.
func TestLateDeviceFadesIn(t *testing.T) {
	dev := &fakeDevice{}
	o := newOutput(dev, "")
	o.Start(&ones{value: 0.5})
	o.tick(o.opened.Add(200 * time.Millisecond))
	out := dev.read(o, o.opened.Add(205*time.Millisecond), fadeIn+100)
	for _, at := range []int{0, fadeIn / 2, fadeIn + 10} {
		want := 0.5 * min(1, float64(at)/fadeIn)
		if got := float64(out[2*at]); math.Abs(got-want) > 1e-3 {
			t.Errorf("%d frames after the device came the level is %.4f, not %.4f", at, got, want)
		}
	}
}

// What is held is not pulled, stands still, leaves as silence after a short
// fade, and fades in again over half a second.
func TestPause(t *testing.T) {
	dev := &fakeDevice{ready: true}
	o := newOutput(dev, "")
	p := &ones{value: 0.5}
	o.Start(p)
	now := o.opened
	play := func(blocks int) (out []float32) {
		for range blocks {
			now = now.Add(20 * time.Millisecond)
			out = append(out, dev.read(o, now, 960)...)
		}
		return out
	}
	play(50)
	o.Pause(true)
	held := p.at
	out := play(50)
	if p.at != held {
		t.Errorf("%d frames were pulled while held", p.at-held)
	}
	for i := 2; i < len(out); i++ {
		if step := out[i] - out[i-2]; step > 0 || step < -0.5/fadeOut*1.01 {
			t.Fatalf("sample %d jumps by %v on the way out", i, step)
		}
	}
	if out[2*fadeOut-1] != 0 {
		t.Errorf("after the fade comes %v, not silence", out[2*fadeOut-1])
	}
	if got := o.heard(now); got != held {
		t.Errorf("while held frame %d is heard; it was held at %d", got, held)
	}
	o.Pause(false)
	out = play(50)
	for _, at := range []int{0, fadeIn / 4, fadeIn / 2, fadeIn, fadeIn + 10} {
		want := 0.5 * min(1, float64(at)/fadeIn)
		if got := float64(out[2*at]); math.Abs(got-want) > 1e-3 {
			t.Errorf("%d frames after going on the level is %.4f, not %.4f", at, got, want)
		}
	}
}

// Another puller starts from nothing; the position is its own.
func TestStartAnother(t *testing.T) {
	dev := &fakeDevice{ready: true}
	o := newOutput(dev, "")
	now := o.opened
	o.Start(&ones{value: 0.5})
	for range 100 {
		now = now.Add(20 * time.Millisecond)
		dev.read(o, now, 960)
	}
	o.Start(&ones{value: 0.25})
	if got := o.heard(now); got != 0 {
		t.Errorf("a puller that just started is heard at frame %d", got)
	}
	for range 10 {
		now = now.Add(20 * time.Millisecond)
		dev.read(o, now, 960)
	}
	// 10 blocks of 960 were read, 960 of them not taken, 2000 hidden, and 480
	// are the fade of the one before.
	if got := o.heard(now); got < 6160-480 || got > 6160+480 {
		t.Errorf("frame %d is heard, not about 6160", got)
	}
}

// A puller's nonsense does not reach the ear.
func TestNothingBeyondFullScale(t *testing.T) {
	dev := &fakeDevice{ready: true}
	for _, tt := range []struct{ in, want float64 }{
		{3, 1}, {-3, -1}, {math.Inf(1), 1}, {math.Inf(-1), -1}, {math.NaN(), 0}, {0.25, 0.25},
	} {
		o := newOutput(dev, "")
		dev.read(o, o.opened, 10)
		o.Start(&ones{value: float32(tt.in)})
		if got := dev.read(o, o.opened, 10)[5]; got != float32(tt.want) {
			t.Errorf("%v leaves as %v, not %v", tt.in, got, tt.want)
		}
	}
}

// A machine that slept does not catch up on hours of sound.
func TestSleep(t *testing.T) {
	o := newOutput(nil, "none")
	p := &ones{}
	o.Start(p)
	o.tick(o.opened.Add(3 * time.Hour))
	if p.at > 48000 {
		t.Errorf("%d frames were pulled at once", p.at)
	}
	if silent, why := o.Silent(); !silent || !strings.Contains(why, "none") {
		t.Errorf("Silent says %v %q", silent, why)
	}
}

// A device that keeps running dry is asked to read further ahead.
func TestRunningDry(t *testing.T) {
	dev := &fakeDevice{ready: true}
	o := newOutput(dev, "")
	o.Start(&ones{})
	for i := range 30 {
		dev.queue = 0
		o.render(dev, o.opened.Add(time.Duration(10*i)*time.Millisecond), make([]float32, 2*block))
	}
	if dev.dry == 0 {
		t.Error("the device ran dry 30 times and was never asked to hurry")
	}
}

// slowError is an error that takes its time to be put into words.
type slowError struct{ during func() }

func (e slowError) Error() string { e.during(); return "gone" }

// While a sentence is made of why there is no sound, the device's callback gets its
// lock.
func TestWhyKeepsNobodyWaiting(t *testing.T) {
	dev := &fakeDevice{}
	o := newOutput(dev, "")
	asked := false
	dev.err = slowError{func() {
		asked = true
		if !o.mu.TryLock() {
			t.Error("the lock is held while the sentence is made")
			return
		}
		o.mu.Unlock()
	}}
	if why := o.Why(); !asked || why.Code != "sound.none" {
		t.Errorf("asked %v: %q", asked, why)
	}
}
