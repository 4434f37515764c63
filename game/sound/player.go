// Package sound is what is heard, and what the meters showed of it: the device,
// the monitor control, the history of a round, and when the lamp on the screen is
// filled. It needs no display.
package sound

import (
	"math"

	"slowneedle/audio/desk"
	"slowneedle/audio/output"
)

// Player is what plays on the sound device.
type Player struct {
	*output.Output
	silent bool // there is none, when last looked
}

// OpenPlayer opens the device.
func OpenPlayer() *Player { return &Player{Output: output.Open()} }

// Play starts a source, softly, and forgets a pause.
func (p *Player) Play(s output.Puller) {
	p.Pause(false)
	p.Start(s)
}

// Look looks whether there is a device, and reports whether that has changed.
func (p *Player) Look() bool {
	was := p.silent
	p.silent, _ = p.Silent()
	return was != p.silent
}

// Quiet reports whether there was no device when last looked.
func (p *Player) Quiet() bool { return p.silent }

// None reports whether there is no sound although there was a press of a key or a button,
// for which a browser waits.
func (p *Player) None() bool { return p.silent && p.Why().Code != output.UntilHand.Code }

// ClampMonitor brings a setting of the monitor control into its range, in dB,
// and to a tenth of a decibel.
func ClampMonitor(db float64) float64 {
	return math.Max(desk.MonitorMin, math.Min(desk.MonitorMax, math.Round(db*10)/10))
}
