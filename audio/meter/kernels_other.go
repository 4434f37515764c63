//go:build !amd64

package meter

func quadruple(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes) {
	quadrupleGo(x, o, q1, q2, constant, l)
}

func (f *kfilter) weighBoth(x, y []float32, c, d *kchannel) {
	f.weigh(x, c)
	f.weigh(y, d)
}
