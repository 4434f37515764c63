package desk

import (
	"cmp"
	"math"
	"sync/atomic"
)

// outlet is where the sound of a chain leaves it: interleaved stereo in any number
// of frames, turned down by the monitor control and kept under the ceiling.
type outlet struct {
	made   int64              // frames computed
	out    [2 * block]float32 // the newest block as it leaves
	unread int                // floats of out not pulled yet
	pulled atomic.Int64

	want   atomic.Uint64 // bits of the requested level in dB
	at     uint64        // of the level in effect
	volume ramp
	guide  guide
}

// start sets the monitor control; 0 means MonitorStart.
func (o *outlet) start(db float64) {
	o.SetMonitor(cmp.Or(db, MonitorStart))
	o.at = o.want.Load()
	o.volume.jump(monitorGain(o.Monitor()))
}

// SetMonitor sets the monitor control, MonitorMin (off) to MonitorMax.
func (o *outlet) SetMonitor(db float64) { o.want.Store(math.Float64bits(monitorLevel(db))) }

// Monitor returns where the monitor control stands, in dB.
func (o *outlet) Monitor() float64 { return math.Float64frombits(o.want.Load()) }

// Position returns the frames pulled so far.
func (o *outlet) Position() int64 { return o.pulled.Load() }

// pull fills out, calling next for each block.
func (o *outlet) pull(out []float32, next func()) {
	n := int64(len(out) / 2)
	for len(out) > 0 {
		if o.unread == 0 {
			next()
			o.unread = len(o.out)
		}
		k := copy(out, o.out[len(o.out)-o.unread:])
		o.unread -= k
		out = out[k:]
	}
	o.pulled.Add(n)
}

// send brings out the block that starts at a position.
//
// Samples are limited to full scale ahead of the control, so that a channel heard
// alone, past the medium, is no louder than the control and the fade-in allow.
func (o *outlet) send(l, r *[block]float32, at int64) {
	if want := o.want.Load(); want != o.at {
		o.at = want
		o.volume.set(monitorGain(math.Float64frombits(want)))
	}
	from, to := o.volume.next()
	from *= fadeIn(at)
	to *= fadeIn(at + block)
	step := (to - from) / block
	if o.guide.next() {
		for i, v := range o.guide.sound {
			l[i], r[i] = l[i]+v, r[i]+v
		}
	}
	for i := range l {
		g := from + float32(step*float32(i))
		o.out[2*i] = ceil(fullScale(l[i]) * g)
		o.out[2*i+1] = ceil(fullScale(r[i]) * g)
	}
}
