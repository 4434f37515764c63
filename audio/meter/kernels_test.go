package meter

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"testing"
)

// kernels are one version of the inner loops.
type kernels struct {
	name      string
	quadruple func(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes)
}

// inGo runs everywhere; inUse is what this processor uses: the vector versions
// where it has them.
var (
	inGo  = kernels{"in Go", quadrupleGo}
	inUse = kernels{"in use", quadruple}
)

// draw makes a block of noise with its history, between 0 and -120 dBFS.
func draw(rnd *rand.Rand) (x [history + blockFrames]float32) {
	for i := range x {
		x[i] = float32(rnd.NormFloat64() * math.Pow(10, -6*rnd.Float64()))
	}
	return x
}

// doubled is the textbook way to twice the rate, in float64: a zero after every
// value, then a half-band filter whose tap at ±(2k+1) is half[k].
func doubled(x []float64, half []float32) []float64 {
	stuffed := make([]float64, 2*len(x))
	for i, v := range x {
		stuffed[2*i] = v
	}
	y := make([]float64, len(stuffed))
	for i := range y {
		y[i] = stuffed[i]
		for k, h := range half {
			for _, j := range []int{i - 2*k - 1, i + 2*k + 1} {
				if j >= 0 && j < len(stuffed) {
					y[i] += float64(h) * stuffed[j]
				}
			}
		}
	}
	return y
}

// Every version gives what zero-stuffing and filtering in float64 gives, and
// plain sums and maxima, to the precision of float32.
func TestKernels(t *testing.T) {
	for _, k := range []kernels{inGo, inUse} {
		t.Run(k.name, func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(3, 4))
			for range 200 {
				x := draw(rnd)
				var wide []float64
				for _, v := range x {
					wide = append(wide, float64(v))
				}
				four := doubled(doubled(wide, half1[:]), half2[:])
				scale := 0.0
				for _, v := range wide {
					scale = max(scale, math.Abs(v))
				}
				same := func(what string, got float32, want, count float64) {
					if !(math.Abs(float64(got)-want) <= 1e-6*count*scale) {
						t.Fatalf("%s: %v, want %v", what, got, want)
					}
				}
				sumOf := func(all []float64, constant float64) (sum, top float64) {
					for _, v := range all {
						sum, top = sum+math.Abs(v-constant), max(top, math.Abs(v))
					}
					return sum, top
				}
				constant := float32(0.1 * scale * rnd.NormFloat64())
				wantPlain := 0.0
				for _, v := range wide[lead : lead+blockFrames] {
					wantPlain += v
				}
				check := func(what string, l lanes, all []float64) {
					got := l.fold()
					sum, top := sumOf(all, float64(constant))
					same("sum of "+what, got.magnitude, sum, 4*blockFrames)
					same("peak of "+what, got.peak, top, 4)
					same("plain sum of "+what, got.plain, wantPlain, blockFrames)
				}
				s := oversampler{x: x}
				s.prime()
				copy(s.o[:3], s.o[blockFrames:])
				var l lanes
				k.quadruple(&s.x, &s.o, &s.q1, &s.q2, constant, &l)
				for i, v := range s.inOrder() {
					same("four times oversampled", v, four[4*lead+i], 4)
				}
				check("four times oversampled", l, four[4*lead:4*(lead+blockFrames)])

				_, wantPeak := sumOf(wide[history:], 0)
				same("greatest", loudest(x[history:]), wantPeak, 0)
			}
		})
	}
}

// Every platform gives the same bits, whatever it works with: those of a digest
// taken once of the plain version.
func TestKernelDigest(t *testing.T) {
	for _, k := range []kernels{inGo, inUse} {
		rnd := rand.New(rand.NewPCG(5, 6))
		digest := fnv.New64a()
		for range 200 {
			x := draw(rnd)
			s := oversampler{x: x}
			s.prime()
			copy(s.o[:3], s.o[blockFrames:])
			var l lanes
			k.quadruple(&s.x, &s.o, &s.q1, &s.q2, x[0], &l)
			for _, v := range []any{s.o, s.q1, s.q2, l, loudest(x[:])} {
				if err := binary.Write(digest, binary.LittleEndian, v); err != nil {
					t.Fatal(err)
				}
			}
		}
		const want = uint64(0xc08922b60ac31240)
		if got := digest.Sum64(); got != want {
			t.Errorf("%s: digest %#x, want %#x", k.name, got, want)
		}
	}
}

// The greatest of any number of samples is found, whatever is among them.
func TestLoudest(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 10))
	for n := range 100 {
		x, want := make([]float32, n), float32(0)
		for i := range x {
			switch x[i] = float32(rnd.NormFloat64()); rnd.IntN(9) {
			case 0:
				x[i] = float32(math.NaN())
			case 1:
				x[i] = -float32(math.NaN())
			}
			if x[i] == x[i] {
				want = max(want, x[i], -x[i])
			}
		}
		if got := loudest(x); got != want {
			t.Fatalf("of %v: %v, want %v", x, got, want)
		}
		if got := loudest(append(x, float32(math.Inf(-1)))); !math.IsInf(float64(got), 1) {
			t.Fatalf("with infinity: %v", got)
		}
	}
}
