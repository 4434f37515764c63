// Package desk is the live chain
//
//	source > start gain > fader > meters > medium > monitor > ceiling
//
// pulled block by block. The meters read what is sent to the medium, as the
// input metering of a recorder does, so that a reading shifts by exactly as
// many decibels as the fader moves. With stages (Channel.Stage) the first channel
// passes through the others one after the other:
//
//	source > gain > stage > stage > … > meters > medium > monitor > ceiling
//
// # Time
//
// The chain works in blocks of 64 frames aligned to the start of the round,
// whatever the size of the blocks pulled, so that any sequence of Pull calls
// gives the same samples and the same snapshots. A fader request, from any
// goroutine, takes effect at the start of the next block and is stamped with
// that position. Replay with those stamps gives the same snapshots again, and
// Render the same recording.
//
// # Ramps
//
// A fader, the monitor control and the listening choice ramp to a new
// setting in a straight line of amplitude over 16 ms (12 blocks), too slow
// to click and too fast to be felt; a request on the way starts a new line
// from where the old one is. Every start fades the monitor in over half a
// second.
//
// # Safety
//
// What leaves the desk never exceeds Ceiling in magnitude, whatever the
// faders, the drill or the medium do, nor full scale turned down by the monitor
// control and by the fade-in: clipping is heard as loud as the monitor control
// allows and no louder.
package desk

import (
	"fmt"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

// The fader's travel in dB. It moves in steps of 0.1 dB.
const (
	FaderMin = -36.0
	FaderMax = 12.0
)

// The monitor control's travel in dB. At MonitorMin it is off; its top is the
// level of the ceiling, so that it never amplifies. Where a level of 0 is
// given to New or NewCompare the control stands at MonitorStart.
const (
	MonitorMin   = -60.0
	MonitorMax   = -1.0
	MonitorStart = -30.0
)

// Ceiling is the greatest magnitude of a sample that leaves a desk: -1 dBFS.
const Ceiling = 0.8912509

const (
	block         = 64         // frames that are computed together
	rampBlocks    = 12         // 16 ms
	startFrames   = 24000      // fade-in of the monitor, half a second
	snapshotEvery = 480        // frames between snapshots, 10 ms
	ringSize      = 4096       // snapshots kept, a little over 40 s
	maxMoves      = 1 << 14    // moves kept one by one
	maxChannels   = 16         // inputs of a desk
	startStep     = 1.0 / 24e3 // of the fade-in, per frame
)

// Channel is one input of the desk.
//
// A sound of one channel goes to both sides of the bus at its full level, so
// that it meters there as it does alone; of two, straight through.
type Channel struct {
	Sound       *source.Sound
	StartGainDB float64 // gain ahead of the fader, dB
	FaderDB     float64 // where the fader stands at the start, FaderMin to FaderMax

	// GainCurve, if any, is a gain ahead of the fader that changes as the
	// sound goes on: points in order of position, straight lines in dB
	// between them, level before the first and after the last.
	GainCurve []GainPoint

	// Stage, if any, makes the channel a stage of a chain: it has no sound of its
	// own but takes what another gives. The bus has what the last stage gives, and
	// no channel ahead of that.
	Stage *Stage
}

// Stage is what a stage of a chain does beside its gain. Levels are those of a
// sine: a full-scale sine is 0 dBFS (AES17).
type Stage struct {
	From      int     // the channel whose sound it takes, one ahead of it
	Min, Max  float64 // range of FaderDB
	NoiseDBFS float64 // RMS of the white noise that is added ahead of its gain
	ClipDBFS  float64 // the highest peak that leaves it
	LampDBFS  float64 // threshold of its own lamp
}

// GainPoint is one corner of a GainCurve.
type GainPoint struct {
	At int64 // frames from the start of the round
	DB float64
}

// Config is how a desk is lined up. Channels are summed.
type Config struct {
	Channels  []Channel
	LampDBFS  float64 // lamp threshold
	LampHold  float64 // seconds the lamp stays lit after the last peak; 0 means 0.15
	Medium    medium.Kind
	Reference float64 // dBFS of 0 VU; the tape's operating level
	Seed      uint64  // of the medium's noise
	MonitorDB float64 // monitor control at the start; 0 means MonitorStart

	ChannelMeters bool // keep a needle and a peak for every channel too, see ChannelAt

	Pause func() // called between blocks by Render and RenderLoop, so that others can work; nil: it is not
}

// Move is one move of a control, stamped with the sample position at which it took
// effect.
type Move struct {
	At      int64   `json:"at"`                // frames from the start of the round
	Control int     `json:"control,omitempty"` // which of Config.Channels
	To      float64 `json:"to"`                // dB
}

// Snapshot is what the meters show at one sample position. Levels are -Inf
// where there is nothing to show.
type Snapshot struct {
	At         int64      // frames from the start of the round
	NeedleDBFS [2]float64 // per bus channel: level of the needle, a sine at that dBFS shows the same
	PeakDBFS   [2]float64 // highest sample since the snapshot before
	PPMDBFS    [2]float64 // programme meter
	Lit        bool       // the lamp
	Flicks     int        // flicks since the start
	Clipped    int64      // samples at or beyond full scale since the start, of the bus channel that has more
}

// ChannelSnapshot is what one channel's own meters show behind its fader. Of
// a sound of two channels it is the higher.
type ChannelSnapshot struct {
	NeedleDBFS float64
	PeakDBFS   float64 // highest sample since the snapshot before
	Lit        bool    // the lamp of a stage
}

// check returns what is wrong with a line-up, nil if nothing is.
func (c *Config) check() error {
	if len(c.Channels) == 0 {
		return fmt.Errorf("desk: no channels: give at least one sound")
	}
	if len(c.Channels) > maxChannels {
		return fmt.Errorf("desk: %d channels are more than the %d a desk has", len(c.Channels), maxChannels)
	}
	for _, v := range []struct {
		name string
		db   float64
	}{{"LampDBFS", c.LampDBFS}, {"Reference", c.Reference}, {"MonitorDB", c.MonitorDB}} {
		if math.IsNaN(v.db) || math.IsInf(v.db, 1) {
			return fmt.Errorf("desk: %s is %v: give a level in dB", v.name, v.db)
		}
	}
	if math.IsNaN(c.LampHold) || c.LampHold < 0 || c.LampHold > 10 {
		return fmt.Errorf("desk: LampHold is %v s: give 0 to 10", c.LampHold)
	}
	for i := range c.Channels {
		if err := c.Channels[i].check(); err != nil {
			return fmt.Errorf("desk: channel %d: %w", i, err)
		}
		if s := c.Channels[i].Stage; s != nil && (s.From < 0 || s.From >= i) {
			return fmt.Errorf("desk: channel %d: its stage takes the sound of channel %d; give one ahead of it", i, s.From)
		}
	}
	return nil
}

func (c *Channel) check() error {
	if c.Stage != nil {
		return c.Stage.check()
	}
	s := c.Sound
	if s == nil || len(s.Channels) == 0 || len(s.Channels[0]) == 0 {
		return fmt.Errorf("no sound: give a loop of at least one sample")
	}
	if len(s.Channels) > 2 {
		return fmt.Errorf("the sound has %d channels: give one or two", len(s.Channels))
	}
	if len(s.Channels) == 2 && len(s.Channels[1]) != len(s.Channels[0]) {
		return fmt.Errorf("the sound's channels differ in length (%d and %d samples)", len(s.Channels[0]), len(s.Channels[1]))
	}
	for _, x := range s.Channels {
		for i, v := range x {
			if v-v != 0 {
				return fmt.Errorf("sample %d of the sound is %v: give finite samples", i, v)
			}
		}
	}
	if math.IsNaN(c.StartGainDB) || c.StartGainDB > 120 {
		return fmt.Errorf("StartGainDB is %v: give a gain of at most 120 dB", c.StartGainDB)
	}
	if math.IsNaN(c.FaderDB) {
		return fmt.Errorf("FaderDB is not a number")
	}
	for i, p := range c.GainCurve {
		if math.IsNaN(p.DB) || math.Abs(p.DB) > 120 {
			return fmt.Errorf("point %d of the gain curve is %v dB: give -120 to 120", i, p.DB)
		}
		if i > 0 && p.At < c.GainCurve[i-1].At {
			return fmt.Errorf("point %d of the gain curve lies before the one ahead of it", i)
		}
	}
	return nil
}

func (s *Stage) check() error {
	switch {
	case !(s.Min <= s.Max) || math.Abs(s.Min) > 120 || math.Abs(s.Max) > 120:
		return fmt.Errorf("the stage moves from %v to %v dB: give a range within -120 to 120", s.Min, s.Max)
	case math.IsNaN(s.NoiseDBFS) || s.NoiseDBFS > 0:
		return fmt.Errorf("NoiseDBFS is %v: give a level of at most 0 dB", s.NoiseDBFS)
	case math.IsNaN(s.ClipDBFS) || math.IsNaN(s.LampDBFS):
		return fmt.Errorf("ClipDBFS or LampDBFS is not a number")
	}
	return nil
}

// FaderStep rounds a fader position to the steps and the travel of a fader.
// What is not a number gives FaderMin.
func FaderStep(db float64) float64 { return float64(tenths(db, FaderMin, FaderMax)) / 10 }

// tenths is a position in steps of 0.1 dB within a travel.
func tenths(db, lo, hi float64) int64 {
	if !(db > lo) {
		db = lo
	}
	return int64(math.Round(min(db, hi) * 10))
}

// monitorLevel keeps a monitor level within its travel.
func monitorLevel(db float64) float64 {
	if !(db > MonitorMin) {
		return MonitorMin
	}
	return min(db, MonitorMax)
}

// monitorGain is the factor of a monitor level within its travel.
func monitorGain(db float64) float32 {
	if db <= MonitorMin {
		return 0
	}
	return float32(audio.Gain(db))
}
