package game

import (
	"math"

	"slowneedle/audio/desk"
	"slowneedle/audio/output"
)

// player is what plays on the sound device.
type player struct {
	*output.Output
	silent bool // there is none, when last looked
}

// openPlayer opens the device.
func openPlayer() *player { return &player{Output: output.Open()} }

// play starts a source, softly, and forgets a pause.
func (p *player) play(s output.Puller) {
	p.Pause(false)
	p.Start(s)
}

// look looks whether there is a device, and reports whether that has changed.
func (p *player) look() bool {
	was := p.silent
	p.silent, _ = p.Silent()
	return was != p.silent
}

// quiet reports whether there was no device when last looked.
func (p *player) quiet() bool { return p.silent }

// clampMonitor brings a setting of the monitor control into its range, in dB,
// and to a tenth of a decibel.
func clampMonitor(db float64) float64 {
	return math.Max(desk.MonitorMin, math.Min(desk.MonitorMax, math.Round(db*10)/10))
}
