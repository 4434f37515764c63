package meter

import "golang.org/x/sys/cpu"

// The vector versions do the same operations in the same order as the ones in Go,
// eight at a time; a test holds the two against each other bit by bit.

var vector = cpu.X86.HasAVX

//go:noescape
func quadrupleAVX(x *[history + chunk]float32, o *[3 + chunk]float32, q1, q2 *[chunk]float32, sums, peaks *[8]float32)

//go:noescape
func doubleAVX(x *[history + chunk]float32, o *[3 + chunk]float32, sums, peaks *[8]float32)

//go:noescape
func squaresAVX(x *[chunk]float32, sums, peaks *[8]float32)

// loudestAVX takes n floats, n a multiple of 8.
//
//go:noescape
func loudestAVX(x *float32, n int, peaks *[8]float32)

func quadruple(x *[history + chunk]float32, o *[3 + chunk]float32, q1, q2 *[chunk]float32, sums, peaks *[8]float32) {
	if vector {
		quadrupleAVX(x, o, q1, q2, sums, peaks)
	} else {
		quadrupleGo(x, o, q1, q2, sums, peaks)
	}
}

func double(x *[history + chunk]float32, o *[3 + chunk]float32, sums, peaks *[8]float32) {
	if vector {
		doubleAVX(x, o, sums, peaks)
	} else {
		doubleGo(x, o, sums, peaks)
	}
}

func squares(x *[chunk]float32, sums, peaks *[8]float32) {
	if vector {
		squaresAVX(x, sums, peaks)
	} else {
		squaresGo(x, sums, peaks)
	}
}

func loudest(x []float32) float32 {
	if !vector || len(x) < 8 {
		return loudestGo(x)
	}
	var peaks [8]float32
	n := len(x) &^ 7
	loudestAVX(&x[0], n, &peaks)
	_, peak := fold(&peaks, &peaks)
	for _, v := range x[n:] {
		if v = abs32(v); v > peak {
			peak = v
		}
	}
	return peak
}
