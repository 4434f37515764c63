package meter

import (
	"math"
	"math/rand/v2"
	"testing"
)

// kernels are one version of the inner loops.
type kernels struct {
	name      string
	quadruple func(x *[history + chunk]float32, o *[3 + chunk]float32, q1, q2 *[chunk]float32, sums, peaks *[8]float32)
	double    func(x *[history + chunk]float32, o *[3 + chunk]float32, sums, peaks *[8]float32)
	squares   func(x *[chunk]float32, sums, peaks *[8]float32)
	loudest   func(x []float32) float32
}

// inGo runs everywhere; inUse is what this processor uses: the vector versions
// where it has them.
var (
	inGo  = kernels{"in Go", quadrupleGo, doubleGo, squaresGo, loudestGo}
	inUse = kernels{"in use", quadruple, double, squares, loudest}
)

// draw makes a chunk of noise with its history, between 0 and -120 dBFS.
func draw(rnd *rand.Rand) (x [history + chunk]float32) {
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
				twice := doubled(wide, half1[:])
				four := doubled(twice, half2[:])
				scale := 0.0
				for _, v := range wide {
					scale = max(scale, math.Abs(v))
				}
				same := func(what string, got float32, want, count float64) {
					if !(math.Abs(float64(got)-want) <= 1e-6*count*scale) {
						t.Fatalf("%s: %v, want %v", what, got, want)
					}
				}
				sumOf := func(all []float64) (sum, top float64) {
					for _, v := range all {
						sum, top = sum+math.Abs(v), max(top, math.Abs(v))
					}
					return sum, top
				}
				s := oversampler{factor: 4, x: x}
				s.prime()
				copy(s.o[:3], s.o[chunk:])
				var sums, peaks [8]float32
				k.quadruple(&s.x, &s.o, &s.q1, &s.q2, &sums, &peaks)
				var row [4 * chunk]float32
				for i, v := range s.inOrder(&row) {
					same("four times oversampled", v, four[4*lead+i], 4)
				}
				sum, peak := fold(&sums, &peaks)
				wantSum, wantPeak := sumOf(four[4*lead : 4*(lead+chunk)])
				same("sum of four times oversampled", sum, wantSum, 4*chunk)
				same("peak of four times oversampled", peak, wantPeak, 4)

				s.factor, sums, peaks = 2, [8]float32{}, [8]float32{}
				k.double(&s.x, &s.o, &sums, &peaks)
				for i, v := range s.inOrder(&row) {
					same("twice oversampled", v, twice[2*lead+i], 4)
				}
				sum, peak = fold(&sums, &peaks)
				wantSum, wantPeak = sumOf(twice[2*lead : 2*(lead+chunk)])
				same("sum of twice oversampled", sum, wantSum, 2*chunk)
				same("peak of twice oversampled", peak, wantPeak, 4)

				c := (*[chunk]float32)(x[history:])
				sums, peaks = [8]float32{}, [8]float32{}
				k.squares(c, &sums, &peaks)
				wantSum = 0
				for _, v := range wide[history:] {
					wantSum += v * v
				}
				_, wantPeak = sumOf(wide[history:])
				sum, peak = fold(&sums, &peaks)
				same("sum of squares", sum, wantSum, chunk*scale)
				same("peak", peak, wantPeak, 0)
				same("greatest", k.loudest(c[:]), wantPeak, 0)
			}
		})
	}
}

// The version in use gives the bits of the one in Go, also where a NaN is among
// the samples.
func TestKernelBits(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		x := draw(rnd)
		var o [3 + chunk]float32
		for i := range 3 {
			o[i] = float32(rnd.NormFloat64())
		}
		oGo, oV := o, o
		var q1Go, q2Go, q1V, q2V [chunk]float32
		var sGo, pGo, sV, pV [8]float32
		inGo.quadruple(&x, &oGo, &q1Go, &q2Go, &sGo, &pGo)
		inUse.quadruple(&x, &oV, &q1V, &q2V, &sV, &pV)
		if oGo != oV || q1Go != q1V || q2Go != q2V || sGo != sV || pGo != pV {
			t.Fatalf("four times oversampled: Go %v %v, in use %v %v", sGo, pGo, sV, pV)
		}
		oGo, oV = o, o
		inGo.double(&x, &oGo, &sGo, &pGo)
		inUse.double(&x, &oV, &sV, &pV)
		if oGo != oV || sGo != sV || pGo != pV {
			t.Fatalf("twice oversampled: Go %v %v, in use %v %v", sGo, pGo, sV, pV)
		}
		c := (*[chunk]float32)(x[history:])
		inGo.squares(c, &sGo, &pGo)
		inUse.squares(c, &sV, &pV)
		if sGo != sV || pGo != pV {
			t.Fatalf("sums: Go %v %v, in use %v %v", sGo, pGo, sV, pV)
		}
		n := rnd.IntN(len(x) + 1)
		x[rnd.IntN(len(x))] = float32(math.NaN())
		if got, want := inUse.loudest(x[:n]), inGo.loudest(x[:n]); got != want {
			t.Fatalf("greatest of %d: Go %v, in use %v", n, want, got)
		}
	}
}
