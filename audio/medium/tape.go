package medium

import (
	"math"
	"math/rand/v2"
	"sync"

	"slowneedle/audio"
)

// What the tape is like. Figures without a source are common practice for a
// quarter-inch machine at 38 cm/s (15 inches a second), from memory.
const (
	// TapeLimitVU is the level above 0 VU at which a 1 kHz tone has
	// TapeLimitPercent of third harmonic: the usual definition of the highest
	// level a tape takes. With 0 VU at 200 nWb/m it is some 560 nWb/m.
	TapeLimitVU      = 9.0
	TapeLimitPercent = 3.0

	// TapeHissVU is the A-weighted level (IEC 61672-1) of the hiss above
	// 0 VU, both taken as RMS.
	TapeHissVU = -60.0

	tapeLatency = 3
)

// Tape is an analogue recorder and its replay.
//
// Distortion is of odd order and soft. Third-harmonic distortion rises 2 dB
// for each dB of level, a handbook fact of magnetic tape, from 0.4 % at 0 VU
// to 3 % at TapeLimitVU; beyond that the tape saturates. The curve is the
// quintic u - 2/3 u³ + 1/5 u⁵, which ends flat at u = 1, some 16 dB above
// 0 VU. It works at 96 kHz: up to there a tone makes no harmonics but the
// third and the fifth, and what would alias is filtered out.
//
// High frequencies are recorded with a lift, 7 dB at 10 kHz, and replayed
// with as much less, so that they saturate earlier than the middle: loud
// cymbals turn dull before a loud bass turns rough.
//
// Hiss has the rising spectrum that replay equalisation gives it, and does
// not depend on the recorded level.
type Tape struct {
	sides [2]tapeSide
	gain  float32 // from samples to the curve's scale
	back  float32
	hiss  hiss
	noise *rand.PCG
	ideal bool // no saturation

	hissRMS float64 // A-weighted
}

// tapeSide is one channel of the tape.
type tapeSide struct {
	lift     shelf
	up, down halfBand
	drop     shelf
}

// tapeBlock is how many frames are worked on at once.
const tapeBlock = 64

// NewTape makes a tape recorder lined up so that a tone at a reference in
// dBFS records at 0 VU. A reference that is no finite number counts as
// -18 dBFS.
func NewTape(referenceDBFS float64, seed uint64) *Tape {
	if math.IsNaN(referenceDBFS) || math.IsInf(referenceDBFS, 0) {
		referenceDBFS = -18
	}
	line := tapeLine()
	gain := line.limit / audio.Gain(referenceDBFS+TapeLimitVU)
	t := &Tape{
		gain: float32(gain), back: float32(1 / gain),
		noise: rand.NewPCG(seed, tapeStream),
	}
	for i := range t.sides {
		t.sides[i].lift, t.sides[i].drop = line.lift, line.drop
	}
	// White noise that is evenly spread over ±1 has an RMS of 1/√3.
	rms := audio.Gain(referenceDBFS+TapeHissVU) / math.Sqrt2
	t.hiss = line.hiss
	t.hiss.level = float32(rms * math.Sqrt(3) / line.hissGain)
	t.hissRMS = rms
	return t
}

// Latency is 3 frames, the delay of the two half-band filters at low and
// middle frequencies.
func (t *Tape) Latency() int { return tapeLatency }

// Process records and replays two channels in place.
func (t *Tape) Process(l, r []float32) {
	for len(l) > 0 {
		n := min(len(l), tapeBlock)
		t.pass(&t.sides[0], l[:n])
		t.pass(&t.sides[1], r[:n])
		t.hiss.add(t.noise, l[:n], r[:n])
		l, r = l[n:], r[n:]
	}
}

// pass takes one channel through the tape, without hiss.
func (t *Tape) pass(s *tapeSide, x []float32) {
	var twice [2 * tapeBlock]float32
	y := twice[:2*len(x)]
	bound(x)
	s.lift.pass(x, t.gain)
	s.up.up(y, x)
	if !t.ideal {
		saturate(y)
	}
	s.down.down(x, y)
	s.drop.pass(x, t.back)
}

// bound keeps what the filters remember finite: samples within 60 dB above
// full scale, and silence for what is not a number.
func bound(x []float32) {
	const most = 1000
	for i, v := range x {
		if v != v {
			v = 0
		}
		x[i] = min(max(v, -most), most)
	}
}

// saturate is the tape's curve.
func saturate(x []float32) {
	for i, u := range x {
		u = min(max(u, -1), 1)
		v := u * u
		x[i] = u * (1 - float32(v*(2.0/3-float32(v*0.2))))
	}
}

// shelf is a first-order filter: y[n] = b0 x[n] + b1 x[n-1] - a1 y[n-1].
type shelf struct{ b0, b1, a1, x, y float32 }

func (s *shelf) pass(x []float32, gain float32) {
	px, py := s.x, s.y
	for i, v := range x {
		v = float32(v*gain) + tiny
		py = float32(s.b0*v) + float32(s.b1*px) - float32(s.a1*py)
		px = v
		x[i] = py
	}
	s.x, s.y = px, py
}

// newShelf makes the filter (1 + s/zero) / (1 + s/pole), corners in hertz, by
// the bilinear transform; 1 at zero frequency.
func newShelf(zero, pole float64) shelf {
	// s = c (1 - z⁻¹) / (1 + z⁻¹)
	z := 2 * audio.Rate / (2 * math.Pi * zero)
	p := 2 * audio.Rate / (2 * math.Pi * pole)
	return shelf{
		b0: float32((1 + z) / (1 + p)),
		b1: float32((1 - z) / (1 + p)),
		a1: float32((1 - p) / (1 + p)),
	}
}

// power is the filter's power gain at a frequency.
func (s shelf) power(hz float64) float64 {
	sin, cos := math.Sincos(2 * math.Pi * hz / audio.Rate)
	b0, b1, a1 := float64(s.b0), float64(s.b1), float64(s.a1)
	a, b := 1+float64(a1*cos), a1*sin
	return (float64(b0*b0) + float64(b1*b1) + float64(2*b0*b1*cos)) / (float64(a*a) + float64(b*b))
}

// hiss shapes white noise.
type hiss struct {
	rise, fall [2]shelf
	level      float32
}

// add adds hiss to both channels.
func (h *hiss) add(noise *rand.PCG, l, r []float32) {
	var white [2][tapeBlock]float32
	for i := range l {
		u := noise.Uint64()
		white[0][i] = float32(int32(u)) * (1.0 / (1 << 31))
		white[1][i] = float32(int32(u>>32)) * (1.0 / (1 << 31))
	}
	for ch, x := range [2][]float32{l, r} {
		w := white[ch][:len(x)]
		h.rise[ch].pass(w, h.level)
		h.fall[ch].pass(w, 1)
		for i, v := range w {
			x[i] += v
		}
	}
}

// line is what every tape has in common.
type line struct {
	lift, drop shelf
	limit      float64 // amplitude at the curve at which a 1 kHz tone reaches TapeLimitPercent
	hiss       hiss
	hissGain   float64 // A-weighted RMS of the hiss filter's output for white noise of RMS 1
	whiteGain  float64 // the same without the filter
}

var tapeLine = sync.OnceValue(func() line {
	const liftZero, liftPole = 4000, 16000
	l := line{lift: newShelf(liftZero, liftPole), drop: newShelf(liftPole, liftZero)}

	// A tone of amplitude a at the curve has, of its fundamental, the third
	// harmonic a²/6 (1 - 3/8 a²) / (1 - a²/2 + a⁴/8). Replay weakens it by
	// what the lift does at 3 kHz against 1 kHz. Find a by bisection.
	weaken := math.Sqrt(l.lift.power(1000) / l.lift.power(3000))
	lo, hi := 0.0, 0.9
	for range 60 {
		a := (lo + hi) / 2
		v := a * a
		if 100*weaken*v/6*(1-float64(0.375*v))/(1-v/2+float64(v*v)/8) < TapeLimitPercent {
			lo = a
		} else {
			hi = a
		}
	}
	l.limit = lo / math.Sqrt(l.lift.power(1000))

	rise, fall := newShelf(1200, 7000), newShelf(math.Inf(1), 14000)
	l.hiss = hiss{rise: [2]shelf{rise, rise}, fall: [2]shelf{fall, fall}}
	var hissed, white float64
	const steps = 2400
	for i := range steps {
		hz := (float64(i) + 0.5) * audio.Rate / 2 / steps
		hissed += float64(rise.power(hz) * fall.power(hz) * aWeight(hz))
		white += aWeight(hz)
	}
	l.hissGain, l.whiteGain = math.Sqrt(hissed/steps), math.Sqrt(white/steps)
	return l
})

// aWeight is the A-weighting of IEC 61672-1 as a power gain, 1 at 1 kHz: four
// zeros at 0 Hz, two poles each at 20.6 Hz and 12194 Hz, one each at 107.7 Hz
// and 737.9 Hz.
func aWeight(hz float64) float64 {
	gain := func(f2 float64) float64 {
		const p1, p2, p3, p4 = 20.598997 * 20.598997, 107.65265 * 107.65265, 737.86223 * 737.86223, 12194.217 * 12194.217
		return p4 * f2 * f2 / ((f2 + p1) * math.Sqrt((f2+p2)*(f2+p3)) * (f2 + p4))
	}
	g := gain(hz*hz) / gain(1000*1000)
	return g * g
}
