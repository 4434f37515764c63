// Package output plays what a desk makes on the machine's sound device, or
// runs a silent clock where there is none.
//
// There is one Output per process. Whether a device plays or the clock runs,
// the same puller is pulled in the same way and Heard goes on, so that meters
// never notice; Silent reports which of the two it is. A device may come late (a
// browser gives sound only after the first click or key) or go away in the
// middle of a round: the change is made without pulling a frame twice or
// leaving one out.
//
// A device that failed is looked for again where that can be done (Linux) or
// needs no doing (Windows); sound then goes on in the middle of the round.
//
// Sound goes out at 48 kHz in two channels. From a fader move to the ear it
// takes 70 to 90 ms: the device's own buffer of 40 ms, a block of 20 ms on its
// way into it, and up to 30 ms ready ahead of that. On a machine so busy that
// this runs dry the last part grows, to 98 ms at most, and the whole to 160 ms.
// What is seen is not late for that: see Heard.
//
// Nothing that leaves exceeds ±1, a sample that is not a number leaves as
// silence, and going on after a pause, starting again half way and a device
// that comes late fade in over half a second. (A desk at its beginning fades
// in on its own.)
package output

import (
	"sync"
	"time"

	"slowneedle/audio"
)

// Puller makes sound on demand: interleaved stereo float32 at audio.Rate,
// from the audio thread, without allocation.
//
// If it also has a method Position() int64, the frames pulled from it so far,
// Heard counts from there; otherwise from 0 at Start.
type Puller interface{ Pull(out []float32) }

// device is what plays: it reads from the feed in its own time until it is
// closed or lost.
type device interface {
	// state reports that the device is open, or why it is not and never will be.
	state() (ready bool, err error)
	// unplayed is the number of frames read from the feed and not yet taken
	// by the device.
	unplayed() int
	// readAhead asks the device to read further ahead: it ran dry.
	readAhead()
	// latency is the number of frames between the last one taken and the one
	// heard, at the moment the device has taken a block.
	latency() int
}

const (
	block    = 360                    // frames pulled at a time at most, 7.5 ms
	fadeOut  = block                  // when a puller stops being pulled
	fadeIn   = audio.Rate / 2         // when it is pulled again
	lost     = 700 * time.Millisecond // without a read the device counts as lost
	tick     = 5 * time.Millisecond   // of the silent clock
	patience = 3 * time.Second        // for a device to open, before Silent reports it
	search   = 2 * time.Second        // between two looks for a device that failed
)

// Output is the one way out of the program. Open makes it. Its methods may
// be called from any goroutine.
type Output struct {
	mu      sync.Mutex
	dev     device // nil if there is none
	trouble string // what opening it said, if there is none
	opened  time.Time

	playing Puller // nil: nothing
	hold    bool
	turn    int     // counts Starts
	base    int64   // position of the puller at its Start
	count   int64   // frames pulled from it since
	gain    float32 // of the fade-in
	shown   int64   // what Heard said last

	stream int64 // frames given out since Open, silence included
	spans  [32]span
	newest int // of spans
	tail   [2 * fadeOut]float32
	left   int // floats of tail not given out yet

	live  bool      // the device does the pulling, not the clock
	read  time.Time // when the device last did
	taken int64     // frames of the stream the device had taken by then
	reads int       // blocks it has taken, counted to 10
	clock clock

	stop chan struct{}
	done sync.WaitGroup
}

// span is what a stretch of the stream is made of, up to the next span.
type span struct {
	from int64 // of the stream
	turn int   // of the puller
	at   int64 // the puller's position there
	runs bool  // the position moves on
}

// clock is the position in the stream that is heard now, as a straight line
// of time.
type clock struct {
	at  time.Time
	pos float64
}

// now returns the position at a time.
func (c *clock) now(t time.Time) float64 {
	return c.pos + t.Sub(c.at).Seconds()*audio.Rate
}

func newOutput(dev device, trouble string) *Output {
	now := time.Now()
	o := &Output{dev: dev, trouble: trouble, opened: now, stop: make(chan struct{})}
	o.clock = clock{now, 0}
	return o
}

// run starts the silent clock, which also watches over the device.
func (o *Output) run() { o.every(tick, func() { o.tick(time.Now()) }) }

// every does something again and again until the output is closed.
func (o *Output) every(d time.Duration, do func()) {
	o.done.Go(func() {
		t := time.NewTicker(d)
		defer t.Stop()
		for {
			select {
			case <-o.stop:
				return
			case <-t.C:
				do()
			}
		}
	})
}

// Start plays p from now on in place of what was playing; nil plays nothing.
// One that has been pulled before fades in.
func (o *Output) Start(p Puller) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.quit()
	o.playing, o.hold = p, false
	o.turn++
	o.base, o.count, o.gain = 0, 0, 1
	if q, ok := p.(interface{ Position() int64 }); ok && q.Position() > 0 {
		o.base, o.gain = q.Position(), 0
	}
	o.shown = o.base
	o.mark()
}

// Stop goes quiet.
func (o *Output) Stop() { o.Start(nil) }

// Pause holds or goes on. What is held is not pulled, and Heard stands still
// as soon as what was pulled before has been heard.
func (o *Output) Pause(hold bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.hold == hold || o.playing == nil {
		return
	}
	if hold {
		o.quit()
	} else {
		o.gain = 0
	}
	o.hold = hold
	o.mark()
}

// quit pulls a last block of what is playing and fades it out, to be given out
// before anything else. What is left of an older tail is mixed in.
func (o *Output) quit() {
	if o.playing == nil || o.hold {
		return
	}
	old := o.tail
	rest := old[len(old)-o.left:]
	o.pull(o.tail[:])
	for i := range o.tail {
		o.tail[i] *= 1 - float32(i/2+1)/fadeOut
	}
	for i, v := range rest {
		o.tail[i] = fullScale(o.tail[i] + v)
	}
	o.left = len(o.tail)
}

// mark starts a new span behind what is still to be given out.
func (o *Output) mark() {
	o.newest = (o.newest + 1) % len(o.spans)
	o.spans[o.newest] = span{
		from: o.stream + int64(o.left/2),
		turn: o.turn,
		at:   o.base + o.count,
		runs: o.playing != nil && !o.hold,
	}
}

// fill gives out the next frames of the stream, interleaved.
func (o *Output) fill(out []float32) {
	o.stream += int64(len(out) / 2)
	k := copy(out, o.tail[len(o.tail)-o.left:])
	o.left -= k
	out = out[k:]
	if o.playing == nil || o.hold {
		clear(out)
		return
	}
	o.pull(out)
}

// pull takes frames from the puller, faded in and kept within full scale.
func (o *Output) pull(out []float32) {
	o.playing.Pull(out)
	o.count += int64(len(out) / 2)
	for i, v := range out {
		out[i] = fullScale(v)
	}
	for i := 0; i+1 < len(out) && o.gain < 1; i += 2 {
		out[i] *= o.gain
		out[i+1] *= o.gain
		o.gain = min(o.gain+1.0/fadeIn, 1)
	}
}

// fullScale keeps a sample within full scale; what is not a number is silence.
func fullScale(v float32) float32 {
	if v != v {
		return 0
	}
	return min(max(v, -1), 1)
}

// watch looks for a device whenever the one there was has failed. find returns
// nil if there is none yet.
func (o *Output) watch(find func() device) {
	o.every(search, func() {
		if !o.failed() {
			return
		}
		if dev := find(); dev != nil {
			o.replace(dev)
		}
	})
}

// failed reports whether the device will never play again.
func (o *Output) failed() bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.dev == nil {
		return true
	}
	_, err := o.dev.state()
	return err != nil
}

// replace puts a device in the place of one that failed. The silent clock
// goes on until it reads.
func (o *Output) replace(dev device) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.dev, o.live, o.opened = dev, false, time.Now()
}

// tick is the silent clock: it pulls what is due if no device does, and finds
// out when one no longer does.
func (o *Output) tick(now time.Time) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.live {
		_, err := o.dev.state()
		if err == nil && now.Sub(o.read) < lost {
			return
		}
		o.live = false
	}
	due := o.clock.now(now)
	if due > float64(o.stream)+audio.Rate {
		// The machine slept: go on from here instead of catching up.
		due = float64(o.stream) + block
		o.clock = clock{now, due}
	}
	// A block is kept ready ahead, as for a device: what is heard has then had
	// time to be handed over to whoever shows it.
	var scratch [2 * block]float32
	for float64(o.stream) < due+block {
		o.fill(scratch[:])
	}
}

// render fills out with interleaved frames for a device that reads. A device that
// is not, or no longer, the Output's own gets silence.
func (o *Output) render(dev device, now time.Time, out []float32) {
	unplayed := int64(dev.unplayed())
	o.mu.Lock()
	defer o.mu.Unlock()
	if dev != o.dev {
		clear(out)
		return
	}
	taken := o.stream - unplayed
	if !o.live || taken > o.taken {
		// The device has just taken a block: the one moment at which the
		// position that is heard is known. The line is the mean of the first
		// few such moments and later follows with a tenth of the error, so
		// that a late call moves the needle by nothing that shows.
		line := o.clock.now(now)
		off := float64(taken-int64(dev.latency())) - line
		if !o.live || off < -audio.Rate/10 || off > audio.Rate/10 {
			o.reads = 0
		}
		if o.live && unplayed == 0 && o.reads == 10 {
			dev.readAhead()
		}
		o.reads = min(o.reads+1, 10)
		o.clock = clock{now, line + off/float64(o.reads)}
		o.taken = taken
	}
	if !o.live {
		o.gain = 0 // sound begins here, wherever the puller is
	}
	o.live, o.read = true, now
	o.fill(out)
}

// Heard returns the position in the current puller that is heard now, in
// frames: from its Position at Start, or 0, on. It never goes back, and moves
// evenly between the device's blocks. With a device it is derived from what
// the device has taken and from the size of the buffer it keeps.
func (o *Output) Heard() int64 { return o.heard(time.Now()) }

func (o *Output) heard(now time.Time) int64 {
	o.mu.Lock()
	defer o.mu.Unlock()
	heard := min(int64(o.clock.now(now)), o.stream)
	for i := range o.spans {
		s := &o.spans[(o.newest-i+len(o.spans))%len(o.spans)]
		if s.turn != o.turn {
			break
		}
		if s.from > heard {
			continue
		}
		pos := s.at
		if s.runs {
			pos += heard - s.from
		}
		// A span that ended is heard no further than the next one starts.
		o.shown = max(o.shown, min(pos, o.base+o.count))
		break
	}
	return o.shown
}
