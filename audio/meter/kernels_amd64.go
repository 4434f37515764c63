package meter

import "golang.org/x/sys/cpu"

// The vector versions do the same operations in the same order as the ones in Go,
// eight at a time; a test holds the two against each other bit by bit.

var vector = cpu.X86.HasAVX

//go:noescape
func quadrupleAVX(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes)

func quadruple(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes) {
	if vector {
		quadrupleAVX(x, o, q1, q2, constant, l)
	} else {
		quadrupleGo(x, o, q1, q2, constant, l)
	}
}

// weighAVX filters n samples of two channels side by side. A row is one value of the
// filter's state, and the energy, of both.
//
//go:noescape
func weighAVX(x, y *float32, n int, filter *[7]float64, rows *[5][2]float64)

// weighBoth is weigh for two channels.
func (f *kfilter) weighBoth(x, y []float32, c, d *kchannel) {
	if !vector || len(x) == 0 {
		f.weigh(x, c)
		f.weigh(y, d)
		return
	}
	s, t := &c.state, &d.state
	rows := [5][2]float64{{s[0], t[0]}, {s[1], t[1]}, {s[2], t[2]}, {s[3], t[3]}, {c.energy, d.energy}}
	filter := [7]float64{f.shelf.b0, f.shelf.b1, f.shelf.b2, f.shelf.a1, f.shelf.a2, f.c1, f.c2}
	weighAVX(&x[0], &y[0], len(x), &filter, &rows)
	for i := range s {
		s[i], t[i] = rows[i][0], rows[i][1]
	}
	c.energy, d.energy = rows[4][0], rows[4][1]
}
