package returns

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
	"slowneedle/audio"
)

// powerOfTwo returns the first that is no less than n.
func powerOfTwo(n int) int { return 1 << bits.Len(uint(n-1)) }

// resample returns n samples of x, to a second, the first at position from, where
// x has rate samples a second. What lies above cut hertz is left out. Beyond its
// ends x is silent.
func resample(x []float32, rate, from, to, cut float64, n int) []float32 {
	const (
		lobes  = 5  // of the sinc on either side
		phases = 64 // between two samples for which there is a filter
	)
	side := int(math.Ceil(lobes * rate / (2 * cut)))
	bank := make([][]float32, phases)
	for ph := range bank {
		h := make([]float32, 2*side)
		for k := range h {
			d := (float64(k-side+1) - (float64(ph)+0.5)/phases) / rate * 2 * cut // in lobes
			if math.Abs(d) < lobes {
				h[k] = float32(math.Sin(math.Pi*d) / (math.Pi * d) * (0.5 + 0.5*math.Cos(math.Pi*d/lobes)) * 2 * cut / rate)
			}
		}
		bank[ph] = h
	}
	y := make([]float32, n)
	for i := range y {
		p := from + float64(i)*rate/to
		whole := math.Floor(p)
		first := int(whole) - side + 1
		h := bank[int((p-whole)*phases)]
		lo, hi := max(0, -first), min(len(h), len(x)-first)
		if lo >= hi {
			continue
		}
		in := x[first+lo : first+hi]
		var v float32
		for k, w := range h[lo:hi] {
			v += w * in[k]
		}
		y[i] = v
	}
	return y
}

// The waveforms are compared as they are between 80 Hz and 1.2 kHz, in pieces.
const (
	thinRate = 6000.0
	thinCut  = 1200.0
	piece    = 0.125                 // seconds
	reach    = 0.08                  // seconds that a round may lie off
	lags     = int(reach * thinRate) // samples, either way
)

// thin returns n samples of x, thinRate a second, for comparison.
func thin(x []float32, rate float64, n int) []float64 {
	y := make([]float64, n)
	low := 0.0
	keep := 1 - math.Exp(-2*math.Pi*80/thinRate)
	for i, v := range resample(x, rate, 0, thinRate, thinCut, n) {
		low += keep * (float64(v) - low)
		y[i] = float64(v) - low
	}
	return y
}

// alignment is where in a stretch of the recording a round lies: its time t at
// t·stretch + delay.
type alignment struct {
	delay, stretch float64 // seconds
	alike          float64 // how much of the waveform is the same, 0 to 1
	signed         float64 // the same, below 0 if it is turned in polarity
}

// laid is a round as it was sent beside what came back of it, both at audio.Rate and
// begun together.
type laid struct {
	alignment
	mix        int // which of what went out came back, as mixes has them
	sent, back []float32
	held       bool // in level and pitch, so that it cannot be aligned
}

// lay aligns a sound with a stretch of the recording, at a rate, that begins reach before
// the place where it should be. Every mix that may have come back is compared, and that
// is taken whose waveform is most alike: of two sides that sound much the same a coder
// leaves too little to tell them by their bands.
func lay(sound [][]float32, stretch []float32, rate float64, held bool) laid {
	all := mixes(sound)
	l := laid{alignment: alignment{stretch: 1, alike: 0.5}, held: held}
	if !held {
		n := int(float64(len(all[0])) / audio.Rate * thinRate)
		back := thin(stretch, rate, n+2*lags)
		for i, x := range all {
			if a := align(thin(x, audio.Rate, n), back); i == 0 || a.alike > l.alike {
				l.mix, l.alignment = i, a
			}
		}
	}
	l.delay += reach
	l.sent = all[l.mix]
	l.back = resample(stretch, rate, l.delay*rate, audio.Rate/l.stretch, passCut, len(l.sent))
	return l
}

// confidence returns how sure it is that what came back is what was sent, 0 to 1: how
// much of the waveform is the same, as far as the sound lies where waveforms are compared,
// else how much of the movement of its bands. What is left down there of a whisper through
// a low cut tells nothing: another whisper has as much.
func (l laid) confidence(sounding []frame) float64 {
	sent, back := make([]powers, len(sounding)), make([]powers, len(sounding))
	low, all := 0.0, 0.0
	for i, f := range sounding {
		sent[i], back[i] = f.sent, f.back
		low += floats.Sum(f.sent[:toneBand+1])
		all += f.sent.sum()
	}
	if l.held || all == 0 {
		return l.alike
	}
	share := low / all
	return share*l.alike + (1-share)*max(0, shapeOf(sent).like(shapeOf(back)))
}

// align compares a sound with a stretch of the recording that begins reach before the
// place where it should be, both thin.
func align(sound, back []float64) alignment {
	const size = int(piece * thinRate)
	fft := fourier.NewFFT(powerOfTwo(2*size + 2*lags))
	// Where all pieces together are most alike. Alone, a piece of a held note is
	// as much alike one cycle on.
	type match struct {
		at, weight float64
		alike      []float64 // by lag
	}
	var all []match
	together := make([]float64, 2*lags+1)
	for from := 0; from+size <= len(sound); from += size {
		x := sound[from : from+size]
		m := match{
			at: (float64(from) + float64(size)/2) / thinRate, weight: floats.Norm(x, 2),
			alike: correlate(fft, x, back[from:from+size+2*lags]),
		}
		for lag, v := range m.alike {
			together[lag] += m.weight * v * v
		}
		all = append(all, m)
	}
	const near = 24 // samples, 4 ms: drift and wow
	best := farthest(together, 0, len(together))
	var w, st, sl, stt, stl, total, alike, signed float64
	for _, m := range all {
		k := farthest(m.alike, best-near, best+near+1)
		v := m.alike[k]
		total += m.weight
		alike += m.weight * math.Abs(v)
		signed += m.weight * v
		g, lag := m.weight*v*v, float64(k-lags)/thinRate
		w, st, sl, stt, stl = w+g, st+g*m.at, sl+g*lag, stt+g*m.at*m.at, stl+g*m.at*lag
	}
	out := alignment{delay: float64(best-lags) / thinRate, stretch: 1}
	if w == 0 {
		return out
	}
	out.alike, out.signed = alike/total, signed/total
	// A line through the lags.
	if spread := w*stt - st*st; spread > 1e-9*w*w {
		slope := (w*stl - st*sl) / spread
		out.stretch += slope
		out.delay = (sl - slope*st) / w
	}
	return out
}

// farthest returns where between two indices x is farthest from 0.
func farthest(x []float64, from, to int) int {
	best := max(0, from)
	for i := best; i < min(to, len(x)); i++ {
		if math.Abs(x[i]) > math.Abs(x[best]) {
			best = i
		}
	}
	return best
}

// correlate returns the coefficient of correlation of x with y from each lag
// on at which it fits in.
func correlate(fft *fourier.FFT, x, y []float64) []float64 {
	pad := func(v []float64) []complex128 {
		buf := make([]float64, fft.Len())
		copy(buf, v)
		return fft.Coefficients(nil, buf)
	}
	a, b := pad(x), pad(y)
	for i, v := range a {
		b[i] *= complex(real(v), -imag(v))
	}
	r := fft.Sequence(nil, b)[:len(y)-len(x)+1]
	own, theirs := floats.Dot(x, x), floats.Dot(y[:len(x)], y[:len(x)])
	for k := range r {
		if d := own * theirs; d > 0 {
			r[k] = min(max(r[k]/float64(fft.Len())/math.Sqrt(d), -1), 1)
		} else {
			r[k] = 0
		}
		if k+len(x) < len(y) {
			theirs += y[k+len(x)]*y[k+len(x)] - y[k]*y[k]
		}
	}
	return r
}
