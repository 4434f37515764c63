package meter

import (
	"math/rand/v2"
	"testing"
)

// The vector version gives the bits of the one in Go.
func TestKernelBits(t *testing.T) {
	if !vector {
		t.Fatal("this processor has no AVX: the vector version cannot be tried here")
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		x := draw(rnd)
		constant := float32(0.1 * rnd.NormFloat64())
		var o [3 + blockFrames]float32
		for i := range 3 {
			o[i] = float32(rnd.NormFloat64())
		}
		oGo, oV := o, o
		var q1Go, q2Go, q1V, q2V [blockFrames]float32
		var lGo, lV lanes
		quadrupleGo(&x, &oGo, &q1Go, &q2Go, constant, &lGo)
		quadrupleAVX(&x, &oV, &q1V, &q2V, constant, &lV)
		if oGo != oV || q1Go != q1V || q2Go != q2V || lGo != lV {
			t.Fatalf("four times oversampled: Go %v, AVX %v", lGo, lV)
		}
	}
}

// Two channels weighted side by side are each weighted as alone, to the bit.
func TestWeighBoth(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	f := kweighting(48000)
	for range 200 {
		x, y := draw(rnd), draw(rnd)
		var c, d kchannel
		for i := range c.state {
			c.state[i], d.state[i] = rnd.NormFloat64(), rnd.NormFloat64()
		}
		bothC, bothD := c, d
		n := rnd.IntN(len(x) + 1)
		f.weigh(x[:n], &c)
		f.weigh(y[:n], &d)
		f.weighBoth(x[:n], y[:n], &bothC, &bothD)
		if c != bothC || d != bothD {
			t.Fatalf("%d samples: %v %v, side by side %v %v", n, c, d, bothC, bothD)
		}
	}
}
