package drills

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
	"slowneedle/drills/ladder"
)

// ISO 226:2003, table 1: frequency in Hz, exponent, magnitude of the linear
// transfer function and threshold of hearing in dB.
var iso226 = [][4]float64{
	{20, 0.532, -31.6, 78.5}, {25, 0.506, -27.2, 68.7}, {31.5, 0.480, -23.0, 59.5}, {40, 0.455, -19.1, 51.1},
	{50, 0.432, -15.9, 44.0}, {63, 0.409, -13.0, 37.5}, {80, 0.387, -10.3, 31.5}, {100, 0.367, -8.1, 26.5},
	{125, 0.349, -6.2, 22.1}, {160, 0.330, -4.5, 17.9}, {200, 0.315, -3.1, 14.4}, {250, 0.301, -2.0, 11.4},
	{315, 0.288, -1.1, 8.6}, {400, 0.276, -0.4, 6.2}, {500, 0.267, 0.0, 4.4}, {630, 0.259, 0.3, 3.0},
	{800, 0.253, 0.5, 2.2}, {1000, 0.250, 0.0, 2.4}, {1250, 0.246, -2.7, 3.5}, {1600, 0.244, -4.1, 1.7},
	{2000, 0.243, -1.0, -1.3}, {2500, 0.243, 1.7, -4.2}, {3150, 0.243, 2.5, -6.0}, {4000, 0.242, 1.2, -5.4},
	{5000, 0.242, -2.1, -1.5}, {6300, 0.245, -7.1, 6.0}, {8000, 0.254, -11.2, 12.6}, {10000, 0.271, -10.7, 13.9},
	{12500, 0.301, -3.1, 12.3},
}

// contour is the level in dB above the loudness in phon at which a tone is as
// loud as one of 1 kHz (ISO 226:2003, formula 1).
func contour(hz, phon float64) float64 {
	at := func(r [4]float64) float64 {
		a := 4.47e-3*(math.Pow(10, 0.025*phon)-1.15) + math.Pow(0.4*math.Pow(10, (r[3]+r[2])/10-9), r[1])
		return 10/r[1]*math.Log10(a) - r[2] + 94 - phon
	}
	i := 0
	for i < len(iso226)-2 && iso226[i+1][0] < hz {
		i++
	}
	lo, hi := iso226[i], iso226[i+1]
	part := math.Max(0, math.Min(1, math.Log(hz/lo[0])/math.Log(hi[0]/lo[0])))
	return (1-part)*at(lo) + part*at(hi)
}

// kWeight is the gain in dB of BS.1770's weighting, by the two sections that its
// coefficients stand for.
func kWeight(hz float64) float64 {
	s := complex(0, hz/1681.97)
	h := (complex(1.584893, 0)*s*s + complex(1.258702/0.707175, 0)*s + 1) / (s*s + complex(1/0.707175, 0)*s + 1)
	s = complex(0, hz/38.1355)
	h *= s * s / (s*s + complex(1/0.500327, 0)*s + 1)
	return 10 * math.Log10(real(h)*real(h)+imag(h)*imag(h))
}

// disagreement is by how many dB a sound is louder by BS.1770's weighting than by
// the contour of 60 phon.
func disagreement(x []float32) float64 {
	const n = 8192
	fft := fourier.NewFFT(n)
	power := make([]float64, n/2+1)
	block := make([]float64, n)
	for at := 0; at+n <= len(x); at += n {
		for i := range block {
			block[i] = float64(x[at+i]) * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/n))
		}
		for i, c := range fft.Coefficients(nil, block) {
			power[i] += real(c)*real(c) + imag(c)*imag(c)
		}
	}
	var k, ear float64
	for i, p := range power {
		if hz := float64(i) * audio.Rate / n; hz >= 20 && hz <= 12500 {
			k += p * math.Pow(10, kWeight(hz)/10)
			ear += p * math.Pow(10, -contour(hz, 60)/10)
		}
	}
	return 10 * math.Log10(k/ear)
}

// What is to be matched by ear is what the ear and the meter agree on: of all
// sources BS.1770's weighting and the contours of ISO 226 differ by the same 3 dB
// within 2.5, where they differ by 24 dB of a low tone. The tolerance is never
// below what listeners manage.
func TestMatchedByEar(t *testing.T) {
	for _, row := range []struct{ hz, phon, want float64 }{{1000, 60, 60}, {100, 60, 78.5}, {63, 40, 72.5}} { // the standard's contours
		if got := contour(row.hz, row.phon) + row.phon; math.Abs(got-row.want) > 1.2 {
			t.Errorf("%v phon at %v Hz stand at %.1f dB, want %.1f", row.phon, row.hz, got, row.want)
		}
	}
	alike, unlike := 0, 0
	for i := range 24 {
		level := 1 + i%ladder.Top
		e, err := NewExercise(MatchEar, 71, i, level, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		one := true
		for _, s := range e.Channels {
			one = one && s.Sound.Family == e.Family
			if d := disagreement(s.Sound.Channels[0]); math.Abs(d-3) > 2.5 {
				t.Errorf("step %d: %s, %s: BS.1770 and ISO 226 differ by %.1f dB", level, s.Sound.Family, s.Sound.Kind, d)
			}
			if !s.Fixed && math.Abs(s.WindowDB[1]-s.WindowDB[0]-2*e.Rig.ToleranceDB) > 0.01 {
				t.Errorf("step %d: the window is %v, the tolerance %v", level, s.WindowDB, e.Rig.ToleranceDB)
			}
		}
		least := 2.0
		if one {
			alike++
			least = 1.0
		} else {
			unlike++
		}
		if e.Rig.ToleranceDB < least {
			t.Errorf("step %d: within %v dB, of one family: %v", level, e.Rig.ToleranceDB, one)
		}
	}
	if alike < 4 || unlike < 8 {
		t.Errorf("%d rounds of one family, %d of several", alike, unlike)
	}
}
