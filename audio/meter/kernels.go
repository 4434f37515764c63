package meter

import "math"

// The kernels below are written so that every platform gets the same bits: eight
// lanes, each product rounded before it is added.

func abs32(v float32) float32 {
	return math.Float32frombits(math.Float32bits(v) &^ (1 << 31))
}

// between is the value half way between x[11] and x[12].
func between(x []float32) float32 {
	_ = x[2*taps1-1]
	acc := float32(half1[0] * (x[taps1-1] + x[taps1]))
	for k := 1; k < taps1; k++ {
		acc += float32(half1[k] * (x[taps1-1-k] + x[taps1+k]))
	}
	return acc
}

// quarter is the value half way between a and b; c and d lie around them, e and f
// around those.
func quarter(a, b, c, d, e, f float32) float32 {
	acc := float32(half2[0]*(a+b)) + float32(half2[1]*(c+d))
	return acc + float32(half2[2]*(e+f))
}

func gather(v float32, sum, peak *float32) {
	v = abs32(v)
	*sum += v
	if v > *peak {
		*peak = v
	}
}

func quadrupleGo(x *[history + chunk]float32, o *[3 + chunk]float32, q1, q2 *[chunk]float32, sums, peaks *[8]float32) {
	for t := range chunk {
		o[3+t] = between(x[3+t:])
	}
	for t := range chunk {
		e0, e1, e2, e3 := x[lead-1+t], x[lead+t], x[lead+1+t], x[lead+2+t]
		o0, o1, o2 := o[1+t], o[2+t], o[3+t]
		a := quarter(e1, o1, o0, e2, e0, o2)
		b := quarter(o1, e2, e1, o2, o0, e3)
		q1[t], q2[t] = a, b
		s, p := &sums[t&7], &peaks[t&7]
		gather(e1, s, p)
		gather(a, s, p)
		gather(o1, s, p)
		gather(b, s, p)
	}
}

func doubleGo(x *[history + chunk]float32, o *[3 + chunk]float32, sums, peaks *[8]float32) {
	for t := range chunk {
		o[3+t] = between(x[3+t:])
	}
	for t := range chunk {
		gather(x[lead+t], &sums[t&7], &peaks[t&7])
		gather(o[2+t], &sums[t&7], &peaks[t&7])
	}
}

// squaresGo adds up squares and finds the greatest magnitude, in eight lanes.
func squaresGo(x *[chunk]float32, sums, peaks *[8]float32) {
	for t, v := range x {
		sums[t&7] += float32(v * v)
		if v = abs32(v); v > peaks[t&7] {
			peaks[t&7] = v
		}
	}
}

// loudestGo returns the greatest magnitude of a block; NaN is passed over.
func loudestGo(x []float32) float32 {
	var peak float32
	for _, v := range x {
		if v = abs32(v); v > peak {
			peak = v
		}
	}
	return peak
}
