package output

import (
	"encoding/binary"
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/hajimehoshi/oto/v2"

	"slowneedle/audio"
)

// The one device of the process, opened once and for good: the operating
// system's audio layers are not made for more.
var (
	opening sync.Mutex
	tried   bool
	shared  *otoDevice
	trouble string // why there is none

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
		var err error
		if shared, err = openDevice(); err != nil {
			shared, trouble = nil, reason(err)
		}
	}
	var o *Output
	if shared != nil {
		o = newOutput(shared, "")
	} else {
		o = newOutput(nil, trouble)
	}
	current.Store(o)
	o.run()
	return o
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
	return nil
}

// otoDevice is the system's default device.
type otoDevice struct {
	context *oto.Context
	player  oto.Player
	open    atomic.Bool
	ahead   atomic.Int64 // frames kept ready for the device to take
}

// openDevice begins to open the default device.
func openDevice() (*otoDevice, error) {
	quietLibraries()
	context, ready, err := oto.NewContextWithOptions(&oto.NewContextOptions{
		SampleRate: audio.Rate, ChannelCount: 2, Format: oto.FormatFloat32LE,
		BufferSize: deviceBuffer * time.Second / audio.Rate,
	})
	if err != nil {
		return nil, err
	}
	d := &otoDevice{context: context}
	d.player = context.NewPlayer(&feed{})
	d.keep(leastAhead)
	go func() {
		<-ready
		if context.Err() == nil {
			d.open.Store(true)
			d.player.Play()
		}
	}()
	return d, nil
}

const (
	frameBytes = 2 * 4
	mostAhead  = 12 * piece // frames that are ever kept ready
)

func (d *otoDevice) state() (ready bool, err error) {
	if err := d.context.Err(); err != nil {
		return false, err
	}
	return d.open.Load(), d.player.Err()
}

func (d *otoDevice) unplayed() int { return d.player.UnplayedBufferSize() / frameBytes }

// keep sets how many frames are kept ready.
func (d *otoDevice) keep(frames int64) {
	d.ahead.Store(frames)
	d.player.(oto.BufferSizeSetter).SetBufferSize(int(frames) * frameBytes)
}

func (d *otoDevice) hurry() {
	if more := d.ahead.Load() + piece; more <= mostAhead {
		d.keep(more)
	}
}

func (d *otoDevice) hidden() int { return deviceHidden() }

// feed is what the device reads: the current output, or silence.
type feed struct{ frames [2 * piece]float32 }

// Read gives one piece at most, so that little is made ahead of its time.
func (f *feed) Read(p []byte) (int, error) {
	n := min(len(p)/frameBytes, piece)
	out := f.frames[:2*n]
	if o := current.Load(); o != nil {
		o.take(time.Now(), out)
	} else {
		clear(out)
	}
	for i, v := range out {
		binary.LittleEndian.PutUint32(p[4*i:], math.Float32bits(v))
	}
	return n * frameBytes, nil
}

// reason makes a short clause of a device's error.
func reason(err error) string {
	s, _, _ := strings.Cut(strings.TrimPrefix(err.Error(), "oto: "), ",")
	if r := []rune(s); len(r) > 100 {
		s = string(r[:100])
	}
	return "no sound device could be opened: " + s
}
