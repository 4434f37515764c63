package meter

import (
	"math"

	"slowneedle/audio"
)

// lineDBu is studio line level: 0 VU in dBu, common practice. The text of 1942 gives
// the level in dBm into 600 ohm.
const lineDBu = 4

// ProgrammeMark is where a steady tone that reads vu stands on the scale of a
// programme meter of type IIa (IEC 60268-10), marks 1 to 7, of equipment lined up to
// studio line level: 4 is 0 dBu, 6 is +8 dBu, and so 0 VU, +4 dBu, is 5. From mark to
// mark it is 4 dB, from 1 to 2 it is 6 dB.
func ProgrammeMark(vu float64) float64 {
	dBu := vu + lineDBu
	if dBu < -8 {
		return 2 + (dBu+8)/6
	}
	return 4 + dBu/4
}

// The marks at the ends of that scale.
const (
	FirstMark = 1
	LastMark  = 7
)

// LineVolts is the RMS voltage of a tone that reads vu on a meter lined up to
// studio line level: 0 VU is +4 dBu, 1.228 V, and 0 dBu is the voltage of 1 mW in
// 600 ohm, 0.7746 V.
func LineVolts(vu float64) float64 {
	return math.Sqrt(0.001*600) * audio.Gain(vu+lineDBu)
}
