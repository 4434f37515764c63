package meter

import (
	"fmt"
	"math"
)

// Loudness measures programme loudness after ITU-R BS.1770-5.
type Loudness struct{}

// NewLoudness returns a loudness meter for one to six channels.
func NewLoudness(rate, channels int) (*Loudness, error) {
	if channels < 1 || channels > 6 {
		return nil, fmt.Errorf("loudness: %d channels; one to six can be measured", channels)
	}
	return &Loudness{}, nil
}

// Process takes a block of any length, one slice a channel, all equally long.
func (l *Loudness) Process(block ...[]float32) {}

// Momentary is the loudness of the last 400 ms in LUFS.
func (l *Loudness) Momentary() float64 { return math.Inf(-1) }

// ShortTerm is the loudness of the last 3 s in LUFS.
func (l *Loudness) ShortTerm() float64 { return math.Inf(-1) }

// Integrated is the gated loudness since the start or Reset, in LUFS.
func (l *Loudness) Integrated() float64 { return math.Inf(-1) }

// MaxMomentary is the greatest momentary loudness so far, in LUFS.
func (l *Loudness) MaxMomentary() float64 { return math.Inf(-1) }

// MaxShortTerm is the greatest short-term loudness so far, in LUFS.
func (l *Loudness) MaxShortTerm() float64 { return math.Inf(-1) }

// Reset starts a new measurement.
func (l *Loudness) Reset() {}
