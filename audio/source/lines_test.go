package source

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

// unbroken returns the frequency of the first band of 1/24 octave, from 250 Hz on, that
// stays within 3 dB for 5 s while the whole moves by 10 dB, and its level there below
// the whole's highest; 0 if there is none. Room tone is not a line: what lies no higher
// than 3 dB above roomAt does not count.
func unbroken(x []float32, roomAt func(hz float64) float64) (hz, below float64) {
	const n, hop, stay, lowest = 16384, audio.Rate / 10, 50, 250.0
	fft := fourier.NewFFT(n)
	buf := make([]float64, n)
	var coef []complex128
	bands := int(24 * math.Log2(20000/lowest))
	level := make([][]float64, 0, len(x)/hop)
	var whole []float64
	for at := 0; at+n <= len(x); at += hop {
		for i := range buf {
			buf[i] = float64(x[at+i]) * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/n))
		}
		coef = fft.Coefficients(coef, buf)
		row := make([]float64, bands)
		for k, c := range coef {
			// As the mean square of the signal: the window has a mean square of 3/8.
			e := (real(c)*real(c) + imag(c)*imag(c)) * 2 / (n * n * 0.375)
			if b := int(math.Floor(24 * math.Log2(float64(k)*audio.Rate/n/lowest))); k > 0 && b >= 0 && b < bands {
				row[b] += e
			}
		}
		for b := range row {
			row[b] = 10 * math.Log10(row[b]+1e-15)
		}
		sum := 1e-12 // over the 0.1 s in the middle
		for _, v := range x[at+(n-hop)/2 : at+(n+hop)/2] {
			sum += float64(v) * float64(v) / hop
		}
		level, whole = append(level, row), append(whole, 10*math.Log10(sum))
	}
	for at := 0; at+stay <= len(level); at++ {
		if whole := whole[at : at+stay]; slices.Max(whole)-slices.Min(whole) < 10 {
			continue
		}
		for b := range bands {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, row := range level[at : at+stay] {
				if lo, hi = min(lo, row[b]), max(hi, row[b]); hi-lo > 3 {
					break
				}
			}
			hz := lowest * math.Exp2((float64(b)+0.5)/24)
			if hi-lo <= 3 && hi > roomAt(hz)+3 {
				return hz, slices.Max(whole) - hi
			}
		}
	}
	return 0, 0
}

// room is the highest level that room tone has in a band of 1/24 octave, in dB as RMS:
// for a sound from the microphone 55 dB below the peak in all, even up to 600 Hz and from
// there falling by 6 dB an octave.
func room(hz float64) float64 {
	const corner = 600.0
	share := hz * (math.Exp2(1.0/48) - math.Exp2(-1.0/48)) / (1 + hz*hz/(corner*corner)) / (corner * math.Pi / 2)
	return PeakDBFS - 55 + 10*math.Log10(share)
}

// No sound that moves has a line that never stops, as if a machine stood in the
// room.
func TestNoLines(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(48) {
				r := Request{Family: f, Seed: seed, Reserved: seed%4 == 3}
				if seed%8 == 5 {
					r.Seconds = 40
				}
				s, err := r.Generate()
				if err != nil {
					t.Fatal(err)
				}
				for c, x := range s.Channels {
					if hz, below := unbroken(x, room); hz > 0 {
						t.Errorf("seed %d, %s, %s, channel %d: a line at %.0f Hz, %.0f dB below the whole's highest level", seed, s.Kind, s.State(), c, hz, below)
					}
				}
			}
		})
	}
}

// The test itself: it hears a line that lies 40 dB below bursts of a tone, none in the
// bursts and in room tone, and none where the whole stands still.
func TestLineIsHeard(t *testing.T) {
	for _, c := range []struct {
		name        string
		line, burst float64 // amplitude of the line, how far the tone falls between its bursts
		want        float64
	}{
		{"a line", PeakDBFS - 40, 0, 7000},
		{"none", -200, 0, 0},
		{"the whole stands still", PeakDBFS - 40, 0.5, 0},
	} {
		n := noise(7)
		x := make([]float32, 8*audio.Rate)
		for i := range x {
			at := float64(i) / audio.Rate
			tone := math.Sin(2 * math.Pi * 440 * at)
			if int(at*2)%2 == 1 {
				tone *= c.burst
			}
			x[i] = float32(audio.Gain(PeakDBFS)*tone+audio.Gain(c.line)*math.Sin(2*math.Pi*7000*at)) + 1e-5*n.next32()
		}
		if hz, _ := unbroken(x, room); math.Abs(hz-c.want) > 250 {
			t.Errorf("%s: heard at %.0f Hz", c.name, hz)
		}
	}
}
