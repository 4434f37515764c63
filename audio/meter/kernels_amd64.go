package meter

import "golang.org/x/sys/cpu"

// The vector versions do the same operations in the same order as the ones in Go,
// eight at a time; a test holds the two against each other bit by bit.

var vector = cpu.X86.HasAVX

//go:noescape
func quadrupleAVX(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes)

//go:noescape
func doubleAVX(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, constant float32, l *lanes)

//go:noescape
func squaresAVX(x *[blockFrames]float32, l *lanes)

// loudestAVX takes n floats, n a multiple of 8.
//
//go:noescape
func loudestAVX(x *float32, n int, l *lanes)

func quadruple(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes) {
	if vector {
		quadrupleAVX(x, o, q1, q2, constant, l)
	} else {
		quadrupleGo(x, o, q1, q2, constant, l)
	}
}

func double(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, constant float32, l *lanes) {
	if vector {
		doubleAVX(x, o, constant, l)
	} else {
		doubleGo(x, o, constant, l)
	}
}

func squares(x *[blockFrames]float32, l *lanes) {
	if vector {
		squaresAVX(x, l)
	} else {
		squaresGo(x, l)
	}
}

func loudest(x []float32) float32 {
	if !vector || len(x) < 8 {
		return loudestGo(x)
	}
	var l lanes
	n := len(x) &^ 7
	loudestAVX(&x[0], n, &l)
	return max(l.fold().peak, loudestGo(x[n:]))
}
