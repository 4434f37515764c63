package returns

import (
	"math"
	"math/cmplx"

	"slowneedle/audio/said"
)

// Where a line-up tone of 1 kHz is looked for: as far as a recording at 44.1
// kHz played at 48 and the other way round, so that the sentence can say so.
const (
	lowestTone  = 850.0
	highestTone = 1150.0
	pure        = 0.8 // of all power is the tone's
)

// pureTone returns the frequency of a tone near 1 kHz that makes up nearly all
// of the last spectrum, whose power is given; 0 if there is none.
func (a *analyser) pureTone(all float64) float64 {
	best := a.index(lowestTone)
	for i := best; i <= a.index(highestTone); i++ {
		if a.power[i] > a.power[best] {
			best = i
		}
	}
	sum, moment := 0.0, 0.0
	for i := best - 3; i <= best+3; i++ {
		sum += a.power[i]
		moment += a.power[i] * float64(i)
	}
	if sum < pure*all {
		return 0
	}
	return moment / sum * a.bin
}

// toneRun is a stretch of tone near 1 kHz.
type toneRun struct {
	Span          // in seconds of the recording
	hertz float64 // about
}

// findTones returns the stretches that may be the line-up tone, in order.
func (s Series) findTones(sc *scan) (runs []toneRun, err error) {
	const lapse = 5 // spectra that a click may spoil
	var all []toneRun
	for i := 0; i < len(sc.tone); i++ {
		if sc.tone[i] == 0 {
			continue
		}
		sum, count, last := sc.tone[i], 1.0, i
		for j := i + 1; j < len(sc.tone) && j <= last+lapse; j++ {
			if f := sc.tone[j]; f != 0 && math.Abs(f/(sum/count)-1) < 0.02 {
				sum, count, last = sum+f, count+1, j
			}
		}
		run := toneRun{Span{float64(i) * hop, float64(last)*hop + window}, sum / count}
		i = last
		// Not much shorter than what went out, for a recorder may be late; not
		// longer, for a round can be a tone too.
		length := run.Length() * run.hertz / s.Hertz / s.Tone.Length()
		if length > 0.4 && length < 1.1 {
			all = append(all, run)
		}
	}
	if len(all) == 0 {
		return nil, said.Errorf("return.tone", "there is no line-up tone in it; record the series from its beginning, tone included")
	}
	for _, r := range all {
		if math.Abs(r.hertz/s.Hertz-1) <= maxSpeed {
			if len(runs) == 0 || math.Abs(r.hertz/runs[0].hertz-1) < 0.01 {
				runs = append(runs, r)
			}
		}
	}
	if len(runs) == 0 {
		got := all[0].hertz
		if got > s.Hertz {
			return nil, said.Errorf("return.fast", "it runs %.1f %% too fast: the tone comes back at %.0f Hz, not %.0f; check the sample rate or the speed of the recorder",
				100*(got/s.Hertz-1), got, s.Hertz)
		}
		return nil, said.Errorf("return.slow", "it runs %.1f %% too slow: the tone comes back at %.0f Hz, not %.0f; check the sample rate or the speed of the recorder",
			100*(1-got/s.Hertz), got, s.Hertz)
	}
	return runs, nil
}

// speed measures the speed of the recording on the line-up tone.
func (s Series) speed(rec *recording, sc *scan, tone toneRun) (float64, error) {
	x, err := rec.span(tone.Start, tone.End)
	if err != nil {
		return 0, err
	}
	side, _ := sc.side(tone.Span)
	return frequency(x[side], rec.rate, tone.hertz) / s.Hertz, nil
}

// frequency returns the mean frequency of a tone at about a frequency, by its
// phase from window to window, so that wow averages out.
func frequency(x []float32, rate, about float64) float64 {
	n := int(window * rate)
	w := 2 * math.Pi * about / rate
	turned, count := 0.0, 0
	var last complex128
	for at := 0; at+n <= len(x); at += n / 2 {
		var z complex128
		for i := range n {
			shape := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
			sin, cos := math.Sincos(w * float64(at+i))
			z += complex(shape*float64(x[at+i])*cos, -shape*float64(x[at+i])*sin)
		}
		if last != 0 {
			turned += cmplx.Phase(z * cmplx.Conj(last))
			count++
		}
		last = z
	}
	if count == 0 {
		return about
	}
	return about + turned/float64(count)*rate/(2*math.Pi*float64(n/2))
}
