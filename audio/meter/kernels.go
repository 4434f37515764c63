package meter

import "math"

// The kernels below are written so that every platform gets the same bits: eight
// lanes, each product rounded before it is added.

func abs32(v float32) float32 { return math.Float32frombits(magnitude(v)) }

// magnitude returns the bits of a value without its sign.
func magnitude(v float32) uint32 { return math.Float32bits(v) &^ (1 << 31) }

// higher is the greater of two magnitudes, found by their bits, which order alike,
// without a branch.
func higher(a, b float32) float32 {
	return math.Float32frombits(max(math.Float32bits(a), math.Float32bits(b)))
}

// between is the value half way between x[11] and x[12].
func between(samples []float32) float32 {
	x, h := (*[2 * taps1]float32)(samples), &half1
	acc := float32(h[0] * (x[11] + x[12]))
	acc += float32(h[1] * (x[10] + x[13]))
	acc += float32(h[2] * (x[9] + x[14]))
	acc += float32(h[3] * (x[8] + x[15]))
	acc += float32(h[4] * (x[7] + x[16]))
	acc += float32(h[5] * (x[6] + x[17]))
	acc += float32(h[6] * (x[5] + x[18]))
	acc += float32(h[7] * (x[4] + x[19]))
	acc += float32(h[8] * (x[3] + x[20]))
	acc += float32(h[9] * (x[2] + x[21]))
	acc += float32(h[10] * (x[1] + x[22]))
	return acc + float32(h[11]*(x[0]+x[23]))
}

// quarter is the value half way between a and b; c and d lie around them, e and f
// around those.
func quarter(a, b, c, d, e, f float32) float32 {
	acc := float32(half2[0]*(a+b)) + float32(half2[1]*(c+d))
	return acc + float32(half2[2]*(e+f))
}

func quadrupleGo(x *[history + blockFrames]float32, o *[3 + blockFrames]float32, q1, q2 *[blockFrames]float32, constant float32, l *lanes) {
	for t := range blockFrames {
		o[3+t] = between(x[3+t:])
	}
	for t := range blockFrames {
		e0, e1, e2, e3 := x[lead-1+t], x[lead+t], x[lead+1+t], x[lead+2+t]
		o0, o1, o2 := o[1+t], o[2+t], o[3+t]
		a := quarter(e1, o1, o0, e2, e0, o2)
		b := quarter(o1, e2, e1, o2, o0, e3)
		q1[t], q2[t] = a, b
		l.plain[t&7] += e1
		l.gather(t, e1, constant)
		l.gather(t, a, constant)
		l.gather(t, o1, constant)
		l.gather(t, b, constant)
	}
}

// gather adds a value's magnitude, less the constant, and keeps the peak.
func (l *lanes) gather(t int, v, constant float32) {
	l.magnitudes[t&7] += abs32(v - constant)
	l.peaks[t&7] = higher(l.peaks[t&7], abs32(v))
}

// loudest returns the greatest magnitude of samples; NaN is skipped.
func loudest(x []float32) float32 {
	// By their bits, which order alike, four at a time. Those of NaN come last.
	var a, b, c, d uint32
	rest := x
	for ; len(rest) >= 4; rest = rest[4:] {
		a, b = max(a, magnitude(rest[0])), max(b, magnitude(rest[1]))
		c, d = max(c, magnitude(rest[2])), max(d, magnitude(rest[3]))
	}
	for _, v := range rest {
		a = max(a, magnitude(v))
	}
	peak := math.Float32frombits(max(a, b, c, d))
	if peak == peak {
		return peak
	}
	peak = 0
	for _, v := range x {
		if v = abs32(v); v > peak {
			peak = v
		}
	}
	return peak
}
