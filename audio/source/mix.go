package source

import (
	"math"
	"runtime"
	"sync"

	"slowneedle/audio"
)

// add mixes src into the loop at a frame, round the loop's end if need be, so
// that tails sound on over the seam.
func add(loop, src []float32, at int, gain float32) {
	at %= len(loop)
	if at < 0 {
		at += len(loop)
	}
	for len(src) > 0 {
		m := min(len(src), len(loop)-at)
		to := loop[at : at+m]
		for i, v := range src[:m] {
			to[i] += float32(gain * v)
		}
		src, at = src[m:], 0
	}
}

// scale multiplies x by gain.
func scale(x []float32, gain float32) {
	for i := range x {
		x[i] *= gain
	}
}

// fade brings the last n samples of x down to zero.
func fade(x []float32, n int) {
	n = min(n, len(x))
	step := 1 / float32(n)
	g := float32(1)
	for i := len(x) - n; i < len(x); i++ {
		g -= step
		x[i] *= g * g
	}
}

// noise is white noise from a linear congruential generator (Numerical
// Recipes' constants), evenly distributed from -1 to 1.
type noise uint32

func (s *noise) next() float64 {
	*s = *s*1664525 + 1013904223
	return float64(int32(*s)) * (1.0 / (1 << 31))
}

// skip returns the stream as it will be k samples on.
func (s noise) skip(k int) noise {
	mul, inc := uint32(1664525), uint32(1013904223)
	x := uint32(s)
	for k := uint32(k); k > 0; k >>= 1 { // the period is 2^32
		if k&1 == 1 {
			x = x*mul + inc
		}
		mul, inc = mul*mul, inc*(mul+1)
	}
	return noise(x)
}

// frames returns a time as a number of frames.
func frames(seconds float64) int { return int(seconds * audio.Rate) }

// decay returns the factor a sample that falls by 60 dB in t60 seconds.
func decay(t60 float64) float64 { return math.Exp(-6.907755278982137 / (t60 * audio.Rate)) }

// band is a two-pole band-pass of unity gain at its centre.
type band struct{ g, c1, c2, x1, x2, y1, y2 float64 }

// tune sets centre and width in hertz and keeps the state.
func (b *band) tune(hz, width float64) {
	r := math.Exp(-math.Pi * width / audio.Rate)
	b.c2 = -r * r
	b.g = (1 - r*r) / 2
	b.move(hz, r)
}

// move sets the centre of a tuned band, r being its pole's radius. The cosine
// comes from the table, joined by straight lines.
func (b *band) move(hz, r float64) {
	b.c1 = 2 * r * sine(min(hz, 0.47*audio.Rate)*(sineSize/float64(audio.Rate))+sineSize/4)
}

func (b *band) next(x float64) float64 {
	y := b.g*(x-b.x2) + b.c2*b.y2 + b.c1*b.y1
	b.x2, b.x1 = b.x1, x
	b.y2, b.y1 = b.y1, y
	return y
}

const sineSize = 4096

var sineTable = func() (t [sineSize + 1]float32) {
	for i := range t {
		t[i] = float32(math.Sin(2 * math.Pi * float64(i) / sineSize))
	}
	return
}()

// sine is that of a phase of sineSize to the turn, below one turn, joined by straight lines.
func sine(phase float64) float64 {
	k := int(phase)
	a := float64(sineTable[k])
	return a + float64((phase-float64(k))*(float64(sineTable[k+1])-a))
}

// together runs functions that write to different places, side by side where
// there is more than one processor and the work is done in one go.
func (p *plan) together(fs ...func()) {
	if p.step != nil || runtime.GOMAXPROCS(0) == 1 {
		for _, f := range fs {
			f()
			p.pause()
		}
		return
	}
	var wg sync.WaitGroup
	for _, f := range fs {
		wg.Go(f)
	}
	wg.Wait()
}
