package meter

import (
	"math"

	"slowneedle/audio"
)

// LineVolts is the RMS voltage of a tone that reads vu on a meter lined up to
// studio line level: 0 VU is +4 dBu, 1.228 V in 600 ohm at 1 kHz (ANSI
// C16.5-1942), and 0 dBu is the voltage of 1 mW in 600 ohm, 0.7746 V.
func LineVolts(vu float64) float64 {
	const lineDBu = 4
	return math.Sqrt(0.001*600) * audio.Gain(vu+lineDBu)
}
