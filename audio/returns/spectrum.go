package returns

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// The bands in which powers are measured are an octave apart, from 62.5 Hz to
// 8 kHz. Each weighs what lies around its middle by a triangle that ends at the
// middles of its neighbours, so that nothing jumps from one band to another
// with a small change of frequency, and all together weigh the same from 40 Hz
// to 8 kHz.
const (
	bands    = 8
	middle   = 62.5 // of the first, hertz
	lowest   = 40.0
	highest  = 8000.0
	toneBand = 4
)

// powers are the mean powers in the bands, 1 for a sine of full scale.
type powers [bands]float64

func (p powers) sum() float64 { return floats.Sum(p[:]) }

// window is how long one spectrum looks, in seconds; fine is a window that tells the
// harmonics of a low tone from the tone itself.
const (
	window = 2048.0 / 48000
	fine   = 8 * window
)

// analyser takes spectra of a sound at some rate in samples a second, which
// need not be whole.
type analyser struct {
	n     int // length of the window
	bin   float64
	fft   *fourier.FFT
	shape []float64
	first int       // bin of the lowest frequency
	place []float64 // of each bin from there to the highest: 2.3 is between bands 2 and 3

	buf   []float64
	coef  []complex128
	power []float64 // of each bin
}

func newAnalyser(rate, window float64) *analyser {
	n := int(math.Round(window * rate))
	size := max(2048, powerOfTwo(n))
	a := &analyser{
		n: n, bin: rate / float64(size), fft: fourier.NewFFT(size), shape: make([]float64, n),
		buf: make([]float64, size), coef: make([]complex128, size/2+1), power: make([]float64, size/2+1),
	}
	sum := 0.0
	for i := range a.shape {
		a.shape[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
		sum += a.shape[i] * a.shape[i]
	}
	scale := 2 / math.Sqrt(sum*float64(size)) // twice: both signs of frequency, and a sine's peak over its RMS
	for i := range a.shape {
		a.shape[i] *= scale
	}
	a.first = a.index(lowest)
	for i := a.first; i <= a.index(highest); i++ {
		a.place = append(a.place, min(max(0, math.Log2(float64(i)*a.bin/middle)), bands-1.001))
	}
	return a
}

// index returns the bin at a frequency.
func (a *analyser) index(hertz float64) int { return min(int(math.Round(hertz/a.bin)), len(a.power)-1) }

// look takes the spectrum of the window that begins at x[at], which must lie
// in x, and returns its bands.
func (a *analyser) look(x []float32, at int) (p powers) {
	for i, w := range a.shape {
		a.buf[i] = w * float64(x[at+i])
	}
	a.fft.Coefficients(a.coef, a.buf)
	for i, c := range a.coef {
		a.power[i] = real(c)*real(c) + imag(c)*imag(c)
	}
	for i, place := range a.place {
		b := int(place)
		upper := a.power[a.first+i] * (place - float64(b))
		p[b] += a.power[a.first+i] - upper
		p[b+1] += upper
	}
	return p
}

// around returns the power within a width of a frequency, both in hertz, in a
// spectrum with bins so far apart; 0 where there is none.
func around(power []float64, bin, hertz, width float64) float64 {
	if len(power) == 0 {
		return 0
	}
	to := min(int(math.Floor((hertz+width)/bin))+1, len(power))
	from := min(max(0, int(math.Ceil((hertz-width)/bin))), to)
	return floats.Sum(power[from:to])
}

// mean returns the mean power of each bin over a stretch, and the mean bands.
// Of one shorter than a window there is none.
func (a *analyser) mean(x []float32) (spectrum []float64, p powers, ok bool) {
	spectrum = make([]float64, len(a.power))
	count := 0.0
	for at := 0; at+a.n <= len(x); at += a.n / 2 {
		bands := a.look(x, at)
		floats.Add(p[:], bands[:])
		floats.Add(spectrum, a.power)
		count++
	}
	if count == 0 {
		return spectrum, p, false
	}
	floats.Scale(1/count, spectrum)
	floats.Scale(1/count, p[:])
	return spectrum, p, true
}
