package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// Fault is what is wrong with a needle.
type Fault string

// The faults a needle can have; an empty Fault is a needle that keeps the
// standard.
const (
	FaultSlow  Fault = "slow"  // rises too slowly
	FaultOver  Fault = "over"  // swings too far beyond
	FaultPeaks Fault = "peaks" // reads peaks instead of the average
	FaultHangs Fault = "hangs" // falls too slowly
)

// movement is a needle's movement with faults. All read a sine as the
// standard's does once they have settled.
type movement struct {
	meter.Movement
	peaks float64 // how much of the drive is the peak, 0 to 1, in place of the average
	hang  float64 // time constant of the slowest fall, s; 0 falls as it rises
}

// faulty returns the movement with a fault, from strong (0) to slight (1).
func faulty(f Fault, slight float64) movement {
	between := func(strong, weak float64) float64 { return strong + (weak-strong)*slight }
	m := movement{Movement: meter.Standard}
	switch f {
	case FaultSlow:
		m.W /= between(3.5, 1.6) // 99 % after 1050 to 480 ms
	case FaultOver:
		m.Zeta = between(0.25, 0.55) // 44 to 13 % beyond
	case FaultPeaks:
		m.peaks = between(1, 0.5)
	case FaultHangs:
		m.hang = between(2.5, 0.8)
	}
	return m
}

// tick is the step in which movements are computed, in frames: 1 ms.
const tick = audio.Rate / 1000

// traceEvery is the distance of a trace's points in frames: 10 ms.
const traceEvery = audio.Rate / 100

// peakFall is how fast a peak reading falls: 20 dB in 1.7 s, as a programme
// meter's (IEC 60268-10).
var peakFall = math.Pow(10, -0.001/1.7)

// trace returns the needle's position, linear in amplitude, every 10 ms over
// two turns of a loop, from rest. The input's level is changed by gain.
func (m movement) trace(loop []float32, gain float64) []float32 {
	const dt = 0.001
	step := m.Over(dt)
	hang := 0.0
	if m.hang > 0 {
		hang = math.Exp(-dt / m.hang)
	}
	n := 2 * len(loop)
	out := make([]float32, 0, n/traceEvery+1)
	var needle meter.State
	var peak float64
	for at := 0; at < n; at += tick {
		if at%traceEvery == 0 {
			out = append(out, float32(needle.P))
		}
		sum, top := 0.0, 0.0
		for i := at; i < at+tick; i++ {
			x := math.Abs(float64(loop[i%len(loop)])) * gain
			sum += x
			top = max(top, x)
		}
		peak = max(peak*peakFall, top)
		drive := (1-m.peaks)*math.Pi/2*sum/tick + m.peaks*peak
		least := needle.P * hang
		if needle = needle.Step(&step, drive); needle.P < least {
			needle = meter.State{P: least}
		}
	}
	return out
}

// standardTrace is trace for the standard's needle, by the meter itself.
func standardTrace(loop []float32, gain float64) []float32 {
	needle := meter.NewNeedle(audio.Rate)
	n := 2 * len(loop)
	out := make([]float32, 0, n/traceEvery+1)
	block := make([]float32, traceEvery)
	for at := 0; at < n; at += traceEvery {
		out = append(out, float32(needle.Position()))
		for i := range block {
			block[i] = loop[(at+i)%len(loop)] * float32(gain)
		}
		needle.Process(block)
	}
	return out
}
