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
		mix(loop[at:at+m], src[:m], gain)
		src, at = src[m:], 0
	}
}

// mix adds src times gain to dst, which is at least as long.
func mix(dst, src []float32, gain float32) {
	dst = dst[:len(src)]
	for i, v := range src {
		dst[i] += float32(gain * v)
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

// next32 is next in single precision.
func (s *noise) next32() float32 {
	*s = *s*1664525 + 1013904223
	return float32(int32(*s)) * (1.0 / (1 << 31))
}

// skip returns the stream as it will be k samples on, or was if k is negative.
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

// mode is one way a body rings: a sine that dies away.
type mode struct {
	hz, t60 float64 // frequency, time to fall by 60 dB
	amp     float64
}

// ring adds modes to x, four at a time so that the processor works on some
// while it waits for the others.
func ring(x []float32, modes ...mode) {
	for len(modes) > 0 {
		n := min(4, len(modes))
		ring4(x, modes[:n])
		modes = modes[n:]
	}
}

func ring4(x []float32, modes []mode) {
	var start, p, q [4]float64
	long := 0.0
	for i, m := range modes {
		r := decay(m.t60)
		w := 2 * math.Pi * min(m.hz, 0.45*audio.Rate) / audio.Rate
		start[i], p[i], q[i] = -m.amp/r*math.Sin(w), 2*r*math.Cos(w), -r*r
		long = max(long, m.t60)
	}
	x = x[:min(len(x), frames(1.2*long))]
	var a, b, c, d float64
	a1, b1, c1, d1 := start[0], start[1], start[2], start[3]
	for i := range x {
		x[i] += float32(a + b + c + d)
		a, a1 = p[0]*a+q[0]*a1, a
		b, b1 = p[1]*b+q[1]*b1, b
		c, c1 = p[2]*c+q[2]*c1, c
		d, d1 = p[3]*d+q[3]*d1, d
	}
}

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
	t := sineTable()
	at := min(hz, 0.47*audio.Rate)*(sineSize/float64(audio.Rate)) + sineSize/4
	k := int(at)
	v := float64(t[k])
	b.c1 = 2 * r * (v + (at-float64(k))*(float64(t[k+1])-v))
}

func (b *band) next(x float64) float64 {
	y := b.g*(x-b.x2) + b.c2*b.y2 + b.c1*b.y1
	b.x2, b.x1 = b.x1, x
	b.y2, b.y1 = b.y1, y
	return y
}

const sineSize = 4096

var sineTable = sync.OnceValue(func() *[sineSize + 1]float32 {
	t := new([sineSize + 1]float32)
	for i := range t {
		t[i] = float32(math.Sin(2 * math.Pi * float64(i) / sineSize))
	}
	return t
})

// sine48 is one cycle of 1 kHz.
var sine48 = func() (t [48]float64) {
	for i := range t {
		t[i] = math.Sin(2 * math.Pi * float64(i) / 48)
	}
	t[0], t[24] = 0, 0
	t[12], t[36] = 1, -1
	return
}()

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
	together(fs...)
}

// together runs functions that write to different places side by side.
func together(fs ...func()) {
	var wg sync.WaitGroup
	for _, f := range fs[1:] {
		wg.Go(f)
	}
	fs[0]()
	wg.Wait()
}
