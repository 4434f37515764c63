//go:build amd64

package meter

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The vector kernels must give the bits of the ones in Go.
func TestVectorKernels(t *testing.T) {
	if !vector {
		t.Log("this processor has no AVX: the kernels in Go are in use")
		return
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		var x [history + chunk]float32
		for i := range x {
			x[i] = float32(rnd.NormFloat64() * math.Pow(10, -6*rnd.Float64()))
		}
		var o [3 + chunk]float32
		for i := range 3 {
			o[i] = float32(rnd.NormFloat64())
		}
		oGo, oV := o, o
		var q1Go, q2Go, q1V, q2V [chunk]float32
		var sGo, pGo, sV, pV [8]float32
		quadrupleGo(&x, &oGo, &q1Go, &q2Go, &sGo, &pGo)
		quadrupleAVX(&x, &oV, &q1V, &q2V, &sV, &pV)
		if oGo != oV || q1Go != q1V || q2Go != q2V || sGo != sV || pGo != pV {
			t.Fatalf("four times oversampled: Go %v %v, vector %v %v", sGo, pGo, sV, pV)
		}
		oGo, oV = o, o
		doubleGo(&x, &oGo, &sGo, &pGo)
		doubleAVX(&x, &oV, &sV, &pV)
		if oGo != oV || sGo != sV || pGo != pV {
			t.Fatalf("twice oversampled: Go %v %v, vector %v %v", sGo, pGo, sV, pV)
		}
		c := (*[chunk]float32)(x[history:])
		squaresGo(c, &sGo, &pGo)
		squaresAVX(c, &sV, &pV)
		if sGo != sV || pGo != pV {
			t.Fatalf("sums: Go %v %v, vector %v %v", sGo, pGo, sV, pV)
		}
		n := rnd.IntN(len(x) + 1)
		x[rnd.IntN(len(x))] = float32(math.NaN())
		if got, want := loudest(x[:n]), loudestGo(x[:n]); got != want {
			t.Fatalf("greatest of %d: Go %v, vector %v", n, want, got)
		}
	}
}
