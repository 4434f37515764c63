// Package chain works out what becomes of a signal in stages in series, such as a
// microphone, a preamplifier, a fader, a mix bus and a recorder: its level, the
// noise that gathers on the way, and the room its peaks have at each stage.
//
// Levels are in dBu: 0 dBu is an RMS voltage of 0.775 V, the square root of 0.6 V²
// (IEC 60268-17). The level of a peak is that of the sine with the same peak, so
// that a sine's peaks and its level are the same number.
//
// Noise is white and stated over 20 kHz, as handbooks do. Noises of different
// origin add as powers. What a stage adds at its input is amplified by it and all
// after it, so that the noise of early stages matters most: worked out node by
// node, this is the formula of H. T. Friis ("Noise Figures of Radio Receivers",
// Proceedings of the IRE 32, 1944).
package chain

import "math"

// Bandwidth is what noise is stated over, in Hz.
const Bandwidth = 20000.0

const (
	boltzmann = 1.380649e-23 // J/K, exact in the SI
	freezing  = 273.15       // K
	lineOhms  = 600.0        // 1 mW in it is 0 dBu
	milliwatt = 1e-3
)

// Thermal returns the noise of a resistance in dBu: 4kTRB, by Johnson and Nyquist
// (Physical Review 32, 1928). That of 150 ohms at 20 degrees is -130.9 dBu.
func Thermal(ohms, celsius float64) float64 {
	square := 4 * boltzmann * (celsius + freezing) * ohms * Bandwidth // V²
	return 10 * math.Log10(square/(lineOhms*milliwatt))
}

// Millivolts returns a voltage in dBu.
func Millivolts(mv float64) float64 {
	return 20 * math.Log10(mv/1000/math.Sqrt(lineOhms*milliwatt))
}

// Volts returns a level in dBV, relative to 1 V, in dBu.
func Volts(dbv float64) float64 { return Millivolts(1000) + dbv }

// Ratio returns the level of an amplitude over another in dB: of voltages, or of the
// fluxes of reference tapes in nWb/m.
func Ratio(a, b float64) float64 { return 20 * math.Log10(a/b) }

// Sum adds noises in dBu as powers; -Inf is none.
func Sum(noises ...float64) float64 {
	sum := 0.0
	for _, n := range noises {
		sum += power(n)
	}
	return decibels(sum)
}

// Less takes a noise out of a sum of noises: of the equivalent input noise of an
// amplifier, which is measured with a source at its input, that source's own.
// It is -Inf if nothing is left.
func Less(sum, part float64) float64 { return decibels(max(power(sum)-power(part), 0)) }

// White returns by how many dB white noise at a sample rate in Hz, which fills half
// of it, carries more than over Bandwidth: 0.79 at 48 kHz.
func White(rate float64) float64 { return decibels(rate / 2 / Bandwidth) }

func power(db float64) float64   { return math.Pow(10, db/10) }
func decibels(p float64) float64 { return 10 * math.Log10(p) }

// Stage is one stage as it is set.
type Stage struct {
	GainDB   float64 // from its input to its output
	NoiseDBu float64 // that it adds, as if it came in at its input; -Inf for none
	ClipDBu  float64 // the highest peak at its output; +Inf where nothing clips
}

// Pad is a pad of resistors that takes off lossDB and keeps the impedance of the
// source. The resistors make up for the thermal noise that they take off, so that
// it is the same behind them: the noise figure of an attenuator is its loss (Friis).
func Pad(lossDB, thermalDBu, clipDBu float64) Stage {
	return Stage{GainDB: -lossDB, NoiseDBu: decibels(power(thermalDBu) * (power(lossDB) - 1)), ClipDBu: clipDBu}
}

// Node is what there is at the output of a stage.
type Node struct {
	LevelDBu float64
	PeakDBu  float64
	NoiseDBu float64 // all that has gathered
	ClipDBu  float64 // above which the stage clips
}

// SNR is the signal-to-noise ratio in dB, unweighted.
func (n Node) SNR() float64 { return n.LevelDBu - n.NoiseDBu }

// HeadroomDB is the room between the peaks and where the stage clips; negative if
// it clips.
func (n Node) HeadroomDB() float64 { return n.ClipDBu - n.PeakDBu }

// Run takes a source through stages and returns the node behind each. The source
// has a level in dBu, peaks so many dB above it, and a noise in dBu. Nothing is cut
// off where it clips: by how much it would is in HeadroomDB.
func Run(levelDBu, peaksDB, noiseDBu float64, stages []Stage) []Node {
	nodes := make([]Node, len(stages))
	for i, s := range stages {
		levelDBu += s.GainDB
		noiseDBu = Sum(noiseDBu, s.NoiseDBu) + s.GainDB
		nodes[i] = Node{LevelDBu: levelDBu, PeakDBu: levelDBu + peaksDB, NoiseDBu: noiseDBu, ClipDBu: s.ClipDBu}
	}
	return nodes
}
