//go:build !amd64

package meter

func quadruple(x *[history + chunk]float32, o *[3 + chunk]float32, q1, q2 *[chunk]float32, sums, peaks *[8]float32) {
	quadrupleGo(x, o, q1, q2, sums, peaks)
}

func double(x *[history + chunk]float32, o *[3 + chunk]float32, sums, peaks *[8]float32) {
	doubleGo(x, o, sums, peaks)
}

func squares(x *[chunk]float32, sums, peaks *[8]float32) { squaresGo(x, sums, peaks) }

func loudest(x []float32) float32 { return loudestGo(x) }
