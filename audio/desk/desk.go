// Package desk is the live chain: source, gain, fader, meters, medium,
// monitor, pulled block by block.
package desk

import (
	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

// The fader's travel in dB. It moves in steps of 0.1 dB.
const (
	FaderMin = -36.0
	FaderMax = 12.0
)

// Channel is one input of the desk.
type Channel struct {
	Sound       *source.Sound
	StartGainDB float64 // gain ahead of the fader, dB
	FaderDB     float64 // where the fader stands at the start, FaderMin to FaderMax
}

// Config is how a desk is lined up. Channels are summed.
type Config struct {
	Channels  []Channel
	LampDBFS  float64 // lamp threshold
	LampHold  float64 // seconds the lamp stays lit after the last peak; 0 means 0.15
	Medium    medium.Kind
	Reference float64 // dBFS of 0 VU; the tape's operating level
	Seed      uint64  // of the medium's noise
	MonitorDB float64 // monitor control at the start
}

// Move is one fader move, stamped with the sample position at which it took
// effect.
type Move struct {
	At      int64   `json:"at"`                // frames from the start of the round
	Channel int     `json:"channel,omitempty"` // which input
	FaderDB float64 `json:"fader_db"`
}

// Snapshot is what the meters show at one sample position.
type Snapshot struct {
	At         int64      // frames from the start of the round
	NeedleDBFS [2]float64 // per bus channel: level of the needle, a sine at that dBFS shows the same
	PeakDBFS   [2]float64 // highest sample since the snapshot before
	PPMDBFS    [2]float64 // programme meter
	Lit        bool       // the lamp
	Flicks     int        // flicks since the start
	Clipped    int64      // samples at or beyond full scale since the start
	FaderDB    float64    // of channel 0
}
