package source

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// The fast loops give the plain ones' results, bit for bit, at every length.
func TestKernels(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	draw := func(n int) []float32 {
		x := make([]float32, n)
		for i := range x {
			x[i] = float32(rng.NormFloat64())
		}
		return x
	}
	for n := range 70 {
		a, src := draw(n+3), draw(n)
		b := slices.Clone(a)
		mix(a, src, 0.3)
		mixGo(b, src, 0.3)
		if !slices.Equal(a, b) {
			t.Errorf("mix of %d: %v, want %v", n, a, b)
		}
		scale(a, 0.7)
		scaleGo(b, 0.7)
		if !slices.Equal(a, b) {
			t.Errorf("scale of %d: %v, want %v", n, a, b)
		}
		x := draw(n &^ 3)
		var s, u, sg, ug [4]float32
		magnitudes(x, &s, &u)
		magnitudesGo(x, &sg, &ug)
		if s != sg || u != ug {
			t.Errorf("magnitudes of %d: %v %v, want %v %v", len(x), s, u, sg, ug)
		}
		y, z := draw(n&^7), draw(n&^7)
		var d, dg [8]float32
		products(y, z, &d)
		productsGo(y, z, &dg)
		if d != dg {
			t.Errorf("products of %d: %v, want %v", len(y), d, dg)
		}
		for lag := 6; lag < 12; lag++ {
			a := draw(n + lag)
			b := slices.Clone(a)
			c := [3]float32{0.5, 0.3, 0.1}
			travel(a, lag, &c)
			travelGo(b, lag, &c)
			if !slices.Equal(a, b) {
				t.Errorf("travel of %d, lag %d: %v, want %v", n, lag, a, b)
			}
		}
	}
}
