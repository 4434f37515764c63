// Package figures measures how a sound behaves under a slow needle and a fast
// lamp, so that generated sounds can be held to recordings. Both are measured by
// the same code over passages of the same length.
package figures

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// Seconds is the length of the passages that are compared.
const Seconds = 12

// Figures of a passage of one or two channels at audio.Rate, taken as a loop.
type Figures struct {
	UnderRead float64    // sample peak less the needle's reading, dB, of the channel that reads higher
	Span      float64    // from the lamp's first flash up to where it counts as lit, dB
	Tenth     float64    // tenth highest peak less the highest, dB; peaks are those of 100 ms each
	Swings    float64    // swings of the needle a second: up and down by 1 dB, at most 20 dB below the greatest
	Mod       [3]float64 // modulation index of the intensity in the octaves around 0.5, 4 and 8 Hz
	Silence   float64    // share of 20 ms whose peak is 40 dB or more below the highest, 0 to 1
	Drift     float64    // standard deviation of the levels of the passage's eighths, dB
}

// Names of the figures, in the order of Values.
var Names = []string{"under_read_db", "span_db", "tenth_peak_db", "swings_per_s", "mod_0.5_hz", "mod_4_hz", "mod_8_hz", "silence", "drift_db"}

// Values lists the figures in the order of Names.
func (f Figures) Values() []float64 {
	return []float64{f.UnderRead, f.Span, f.Tenth, f.Swings, f.Mod[0], f.Mod[1], f.Mod[2], f.Silence, f.Drift}
}

// Of measures a passage of at least a second. Figures of silence are NaN.
func Of(channels ...[]float32) Figures {
	var f Figures
	best, peak := 0, math.Inf(-1)
	reading := math.Inf(-1)
	for c, x := range channels {
		p := meter.ReadLoop(x, audio.Rate)
		if p.Reading > reading {
			best, reading = c, p.Reading
		}
		peak = max(peak, p.SamplePeak)
	}
	f.UnderRead = peak - reading
	f.Span = span(peak, channels)
	f.Tenth = tenth(channels)
	f.Swings = swings(channels[best])
	f.Mod = modulation(channels)
	f.Silence = silence(peak, channels)
	f.Drift = drift(channels)
	return f
}

// span goes up in steps of 0.1 dB from where the highest peak just reaches the
// lamp to where it is on for over half of any three seconds, or flashes more than
// 1.5 times a second (common practice on tape: spoiled). The lamp holds for 0.15 s.
func span(peak float64, channels [][]float32) float64 {
	lamp := meter.NewLampMap(audio.Rate, 0.15, channels...)
	for k := 0; k < 400; k++ {
		over := float64(k) / 10
		if c := lamp.At(peak - over); c.LitMost > 0.5 || float64(c.Busiest) > 1.5*3 {
			return over
		}
	}
	return math.NaN()
}

// peaks returns the highest magnitude of each stretch of so many frames.
func peaks(channels [][]float32, frames int) []float64 {
	n := len(channels[0]) / frames
	top := make([]float64, n)
	for _, x := range channels {
		for i := range top {
			part := x[i*frames : (i+1)*frames]
			top[i] = max(top[i], float64(slices.Max(part)), float64(-slices.Min(part)))
		}
	}
	return top
}

func tenth(channels [][]float32) float64 {
	p := peaks(channels, audio.Rate/10)
	slices.Sort(p)
	if len(p) < 10 {
		return math.NaN()
	}
	return audio.DB(p[len(p)-10] / p[len(p)-1])
}

// swings counts over one turn, the needle having gone round once before.
func swings(x []float32) float64 {
	n := meter.NewNeedle(audio.Rate)
	n.Process(x)
	const step = 256
	var tops []float64
	up, edge := false, n.Position()
	ratio := audio.Gain(1)
	for at := 0; at+step <= len(x); at += step {
		n.Process(x[at : at+step])
		p := n.Position()
		switch {
		case up && p*ratio < edge:
			tops = append(tops, edge)
			up, edge = false, p
		case up:
			edge = max(edge, p)
		case p > edge*ratio:
			up, edge = true, p
		default:
			edge = min(edge, p)
		}
	}
	count := 0
	for _, t := range tops {
		if t > slices.Max(tops)*audio.Gain(-20) {
			count++
		}
	}
	return float64(count) / float64(len(x)) * audio.Rate
}

// intensity is the mean square of each 5 ms, over all channels.
func intensity(channels [][]float32) []float64 {
	const step = audio.Rate / 200
	env := make([]float64, len(channels[0])/step)
	for _, x := range channels {
		for i := range env {
			for _, v := range x[i*step : (i+1)*step] {
				env[i] += float64(v) * float64(v)
			}
		}
	}
	return env
}

// modulation is the modulation index of an octave: the amplitude of a sine with
// the power of all components in it, against the mean (T. Houtgast and H. J. M.
// Steeneken, "A review of the MTF concept in room acoustics", JASA 77, 1985, use
// it by third octaves; from memory).
func modulation(channels [][]float32) (m [3]float64) {
	env := intensity(channels)
	c := fourier.NewFFT(len(env)).Coefficients(nil, env)
	mean := cmplx.Abs(c[0])
	for k := 1; k < len(c); k++ {
		hz := float64(k) * 200 / float64(len(env))
		for i, at := range []float64{0.5, 4, 8} {
			if hz >= at/math.Sqrt2 && hz < at*math.Sqrt2 {
				a := 2 * cmplx.Abs(c[k]) / mean
				m[i] += a * a
			}
		}
	}
	for i := range m {
		m[i] = math.Sqrt(m[i])
	}
	return m
}

func silence(peak float64, channels [][]float32) float64 {
	quiet, p := 0, peaks(channels, audio.Rate/50)
	for _, v := range p {
		if v <= audio.Gain(peak-40) {
			quiet++
		}
	}
	return float64(quiet) / float64(len(p))
}

// drift compares the levels of the eighths, each that of its louder parts: the
// fifth loudest of every 25 stretches of 20 ms. What lies 40 dB below the loudest
// eighth counts as that.
func drift(channels [][]float32) float64 {
	env := intensity(channels)
	var l []float64
	for i := range 8 {
		part := slices.Sorted(slices.Values(env[i*len(env)/8 : (i+1)*len(env)/8]))
		l = append(l, 10*math.Log10(part[len(part)*4/5]+1e-12))
	}
	top := slices.Max(l)
	for i := range l {
		l[i] = max(l[i], top-40)
	}
	return stat.PopStdDev(l, nil)
}

// Quartiles returns the lower quartile, the median and the upper quartile. Values
// that are not numbers are left out.
func Quartiles(v []float64) (q [3]float64) {
	s := slices.DeleteFunc(slices.Sorted(slices.Values(v)), math.IsNaN)
	for i := range q {
		at := float64(i+1) / 4 * float64(len(s)-1)
		k := min(int(at), len(s)-2)
		if k < 0 {
			return [3]float64{math.NaN(), math.NaN(), math.NaN()}
		}
		q[i] = s[k] + (at-float64(k))*(s[k+1]-s[k])
	}
	return q
}
