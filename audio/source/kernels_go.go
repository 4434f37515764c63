package source

// The loops that take most of the time, in plain Go. On amd64 they run four
// samples at a time (kernels_amd64.s), with the same results.

func mixGo(dst, src []float32, gain float32) {
	for len(src) >= 4 && len(dst) >= 4 {
		dst[0] += float32(gain * src[0])
		dst[1] += float32(gain * src[1])
		dst[2] += float32(gain * src[2])
		dst[3] += float32(gain * src[3])
		src, dst = src[4:], dst[4:]
	}
	for i, v := range src {
		dst[i] += float32(gain * v)
	}
}

func scaleGo(x []float32, gain float32) {
	for i := range x {
		x[i] *= gain
	}
}

func magnitudesGo(x []float32, sums, tops *[4]float32) {
	var s, t [4]float32
	for ; len(x) >= 4; x = x[4:] {
		for j, v := range x[:4] {
			if v < 0 {
				v = -v
			}
			s[j] += v
			t[j] = max(t[j], v)
		}
	}
	*sums, *tops = s, t
}

func travelGo(x []float32, lag int, c *[3]float32) {
	to, from := x[lag:], x[2:]
	x1, x2 := x[1], x[0]
	for i := range to {
		x0 := from[i]
		to[i] = float32(c[0]*x0) + float32(c[1]*x1) + float32(c[2]*x2)
		x1, x2 = x0, x1
	}
}

func productsGo(a, b []float32, sums *[8]float32) {
	var s [8]float32
	for ; len(a) >= 8 && len(b) >= 8; a, b = a[8:], b[8:] {
		for j := range s {
			s[j] += float32(a[j] * b[j])
		}
	}
	*sums = s
}
