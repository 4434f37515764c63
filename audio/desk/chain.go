package desk

import (
	"math/rand/v2"
	"sync/atomic"

	"slowneedle/audio"
	"slowneedle/audio/medium"
	"slowneedle/audio/meter"
)

// Desk is one running chain. Make it with New; the zero value is not usable.
//
// Pull belongs to one goroutine at a time, usually the sound device's. It does not
// allocate, and waits for the others for the time of a copy at most. All other methods
// may be called from any goroutine.
type Desk struct {
	outlet
	channels []*channel
	bus      *meters       // nil: no meters run
	medium   medium.Medium // nil: there is none
	mix      [2][block]float32
	record   [2][]float32 // where Render collects what the medium gives
	offline  bool         // nothing is heard

	wantListen atomic.Int32
	atListen   int32
	mediumMix  ramp // weight of the medium in the monitor

	log   log
	watch func(Snapshot) // gets the snapshots in place of the log, if it is not nil
}

// New returns a desk at position 0. The error names the field of the Config that is
// wrong.
func New(c Config) (*Desk, error) {
	d, err := build(c)
	if err != nil {
		return nil, err
	}
	metered := 0
	if c.ChannelMeters {
		metered = len(d.channels)
	}
	d.log.init(len(d.channels), metered)
	d.snapshot(0)
	return d, nil
}

func build(c Config) (*Desk, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	m, err := medium.New(c.Medium, c.Reference, c.Seed)
	if err != nil {
		return nil, err
	}
	return assemble(&c, m), nil
}

// assemble makes a desk of a Config without faults.
func assemble(c *Config, m medium.Medium) *Desk {
	d := &Desk{medium: m}
	sides := 1 // of the bus
	for i := range c.Channels {
		var before *channel
		if stage := c.Channels[i].Stage; stage != nil {
			before = d.channels[stage.From]
		}
		s := newChannel(&c.Channels[i], before, c.LampHold, rand.NewPCG(c.Seed, stageStream+uint64(i)))
		d.channels = append(d.channels, s)
		sides = max(sides, len(s.sound))
	}
	d.bus = newMeters(sides, c.LampDBFS, c.LampHold)
	for i := range d.bus.sides {
		d.bus.sides[i].programme = meter.NewProgramme(audio.Rate)
	}
	d.start(c.MonitorDB)
	d.wantListen.Store(-1)
	d.atListen = -1
	d.mediumMix.jump(1)
	return d
}

// Pull fills out with interleaved stereo: the next len(out)/2 frames.
func (d *Desk) Pull(out []float32) { d.pull(out, d.next) }

// next computes one block.
func (d *Desk) next() {
	at := d.made
	d.applyRequests(at)

	l, r := d.mix[0][:], d.mix[1][:]
	for i, s := range d.channels {
		sl, sr := s.next(at)
		if i == 0 || s.stage != nil {
			copy(l, sl)
			copy(r, sr)
			continue
		}
		add(l, sl, 1, 1)
		add(r, sr, 1, 1)
	}
	d.made += block
	if d.bus != nil {
		d.meter(at)
	}
	if d.medium != nil {
		d.medium.Process(l, r)
	}
	if d.record[0] != nil {
		copy(d.record[0][at:], l)
		copy(d.record[1][at:], r)
	}
	if !d.offline {
		d.listen(at)
	}
}

// applyRequests puts the requests made since the block before into effect.
func (d *Desk) applyRequests(at int64) {
	for i, s := range d.channels {
		if want := s.want.Load(); want != s.at {
			s.at = want
			s.fader.set(faderGain(want))
			d.log.move(Move{At: at, Control: i, To: float64(want) / 10})
		}
	}
	if want := d.wantListen.Load(); want != d.atListen {
		d.atListen = want
		for i, s := range d.channels {
			s.heard.set(weight(want == int32(i)))
		}
		d.mediumMix.set(weight(want < 0))
	}
}

func weight(heard bool) float32 {
	if heard {
		return 1
	}
	return 0
}

// meter runs the meters over the block that starts at a position, in parts
// that end where a snapshot is due.
func (d *Desk) meter(at int64) {
	l, r := d.mix[0][:], d.mix[1][:]
	for from := 0; from < block; {
		to := block
		due := snapshotEvery - int((at+int64(from))%snapshotEvery)
		if from+due <= block {
			to = from + due
		}
		d.bus.process(l[from:to], r[from:to])
		if d.log.metered > 0 {
			for _, s := range d.channels {
				s.meters.process(s.side[0][from:to], s.side[len(s.sound)-1][from:to])
			}
		}
		if from+due == to {
			d.snapshot(at + int64(to))
		}
		from = to
	}
}

// snapshot hands on what the meters show.
func (d *Desk) snapshot(at int64) {
	s := Snapshot{At: at}
	d.bus.read(&s)
	if d.watch != nil {
		d.watch(s)
		return
	}
	d.log.add(s, d.channels)
}

// listen mixes the monitor and brings it out under the ceiling.
func (d *Desk) listen(at int64) {
	l, r := d.mix[0][:], d.mix[1][:]
	if !d.mediumMix.still(1) {
		from, to := d.mediumMix.next()
		scale(l, l, from, to)
		scale(r, r, from, to)
		for _, s := range d.channels {
			if s.heard.still(0) {
				continue
			}
			from, to := s.heard.next()
			other := s.side[len(s.sound)-1][:]
			add(l, s.side[0][:], from, to)
			add(r, other, from, to)
		}
	}
	d.send(&d.mix[0], &d.mix[1], at)
}

// SetFader asks for a fader position in dB. It is rounded to 0.1 dB, kept
// within the travel, and takes effect at the start of the next block. A
// channel that does not exist is ignored.
func (d *Desk) SetFader(channel int, db float64) {
	if channel >= 0 && channel < len(d.channels) {
		s := d.channels[channel]
		s.want.Store(tenths(db, s.low, s.high))
	}
}

// Fader returns the asked-for position in dB; of a channel that does not
// exist, FaderMin.
func (d *Desk) Fader(channel int) float64 {
	if channel < 0 || channel >= len(d.channels) {
		return FaderMin
	}
	return float64(d.channels[channel].want.Load()) / 10
}

// SetListen brings one channel alone, behind its fader and ahead of the
// medium, to the monitor; -1 brings the medium back. Meters and recording do
// not notice. A channel that does not exist counts as -1.
func (d *Desk) SetListen(channel int) {
	if channel < 0 || channel >= len(d.channels) {
		channel = -1
	}
	d.wantListen.Store(int32(channel))
}

// Latency returns by how many frames what is heard lies behind what the
// meters read, the delay of the medium.
func (d *Desk) Latency() int {
	if d.medium == nil {
		return 0
	}
	return d.medium.Latency()
}

// Moves returns the moves so far, in order of position.
//
// The first 16384 are kept one by one. After that only the newest move of
// each channel is kept besides, so that memory stays bounded and the
// position at which a fader ended is never lost.
func (d *Desk) Moves() []Move { return d.log.allMoves() }

// At returns the newest snapshot stamped at or before a position, of the last
// 40 s; false if there is none.
func (d *Desk) At(pos int64) (Snapshot, bool) {
	s, _, ok := d.log.at(pos, -1)
	return s, ok
}

// ChannelAt returns the newest snapshot of a channel's own meters stamped at
// or before a position; false if there is none or Config.ChannelMeters was
// not set.
func (d *Desk) ChannelAt(channel int, pos int64) (ChannelSnapshot, bool) {
	if channel < 0 || channel >= d.log.metered {
		return ChannelSnapshot{}, false
	}
	_, c, ok := d.log.at(pos, channel)
	return c, ok
}

// Since appends to dst the snapshots stamped after a position, oldest first,
// those of the last 40 s.
func (d *Desk) Since(dst []Snapshot, pos int64) []Snapshot { return d.log.since(dst, pos) }
