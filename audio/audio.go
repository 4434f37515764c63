// Package audio holds what every room of the signal path shares: the working
// sample rate and the two conversions between amplitude and decibels.
//
// Samples are float32, full scale is ±1. A level in dBFS is that of a sine of
// the same peak: a full-scale sine is 0 dBFS (AES17).
package audio

import "math"

// Rate is the sample rate of everything generated and played, in hertz.
const Rate = 48000

// DB returns the level of an amplitude in decibels relative to full scale.
// Zero and negative amplitudes give -Inf.
func DB(amplitude float64) float64 {
	if amplitude <= 0 {
		return math.Inf(-1)
	}
	return 20 * math.Log10(amplitude)
}

// Gain returns the factor that changes a level by db decibels; -Inf gives 0.
func Gain(db float64) float64 { return math.Pow(10, db/20) }
