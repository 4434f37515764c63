package output

import (
	"encoding/binary"
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"slowneedle/audio"
)

// The one device of the process, opened once and kept: the operating
// system's audio layers are not made for more. Only one that failed is given
// up for another.
var (
	opening sync.Mutex
	tried   bool
	shared  atomic.Pointer[otoDevice]
	trouble string // what opening it said, if there is none

	current atomic.Pointer[Output] // what the device reads from
)

// Open opens the default device. It never fails: without a device a silent
// clock pulls in its place. It returns at once, the device opens behind it.
// While an Output is open, Open returns that one.
func Open() *Output {
	opening.Lock()
	defer opening.Unlock()
	if o := current.Load(); o != nil {
		return o
	}
	if !tried {
		tried = true
		if dev, err := openDevice(); err != nil {
			trouble = reason(err)
		} else {
			shared.Store(dev)
		}
	}
	var o *Output
	if dev := shared.Load(); dev != nil {
		o = newOutput(dev, "")
	} else {
		o = newOutput(nil, trouble)
	}
	current.Store(o)
	o.run()
	if comesBack {
		o.watch(openAgain)
	}
	return o
}

// openAgain opens a device in place of one that failed, if there is one by
// now. What the library holds of the failed one, some kilobytes and a sleeping
// goroutine, it never frees; so a device is opened only if there is one.
func openAgain() device {
	if !deviceThere() {
		return nil
	}
	dev, err := openDevice()
	if err != nil {
		return nil
	}
	if old := shared.Swap(dev); old != nil {
		_ = old.player.Close() // it is of no more use
	}
	return dev
}

// Close goes quiet and lets the device go. Only Open is of use after that.
// The error is always nil; it is there for io.Closer.
func (o *Output) Close() error {
	opening.Lock()
	defer opening.Unlock()
	o.Stop()
	if current.CompareAndSwap(o, nil) {
		close(o.stop)
		o.done.Wait()
	}
	if dev := shared.Load(); dev != nil {
		dev.loud()
	}
	return nil
}

// otoDevice is the system's default device.
type otoDevice struct {
	context *otoContext
	player  otoPlayer
	open    atomic.Bool
	ahead   atomic.Int64 // frames kept ready for the device to take
	loud    func()       // ends the quiet kept while it opens
}

// openDevice begins to open the default device.
func openDevice() (*otoDevice, error) {
	loud := quietLibraries()
	context, ready, err := openContext(&otoOptions{
		SampleRate: audio.Rate, ChannelCount: 2, Format: otoFormat,
		BufferSize: time.Duration(system.buffer) * time.Second / audio.Rate,
	})
	if err != nil {
		loud()
		return nil, err
	}
	d := &otoDevice{context: context, loud: loud}
	d.player = context.NewPlayer(&feed{dev: d})
	d.keep(system.ahead)
	go func() {
		<-ready
		loud()
		if context.Err() == nil {
			d.open.Store(true)
			d.player.Play()
		}
	}()
	return d, nil
}

const (
	frameBytes = 2 * 4
	mostAhead  = 12 * block // frames that are ever kept ready
)

func (d *otoDevice) state() (ready bool, err error) {
	if err := d.context.Err(); err != nil {
		return false, err
	}
	return d.open.Load(), d.player.Err()
}

func (d *otoDevice) unplayed() int { return unplayedBytes(d.player) / frameBytes }

// keep sets how many frames are kept ready.
func (d *otoDevice) keep(frames int64) {
	d.ahead.Store(frames)
	setAhead(d.player, int(frames)*frameBytes)
}

func (d *otoDevice) readAhead() {
	if more := d.ahead.Load() + block; more <= mostAhead {
		d.keep(more)
	}
}

func (d *otoDevice) latency() int { return system.latency }

// feed is what a device reads: the current output, or silence.
type feed struct {
	dev    *otoDevice
	frames [2 * block]float32
}

// Read gives one block at most, so that little is made ahead of its time.
func (f *feed) Read(p []byte) (int, error) {
	n := min(len(p)/frameBytes, block)
	out := f.frames[:2*n]
	if o := current.Load(); o != nil {
		o.render(f.dev, time.Now(), out)
	} else {
		clear(out)
	}
	for i, v := range out {
		binary.LittleEndian.PutUint32(p[4*i:], math.Float32bits(v))
	}
	return n * frameBytes, nil
}

// reason shortens the text of a device's error.
func reason(err error) string {
	s, _, _ := strings.Cut(strings.TrimPrefix(err.Error(), "oto: "), ",")
	if r := []rune(s); len(r) > 100 {
		s = string(r[:100])
	}
	return s
}
