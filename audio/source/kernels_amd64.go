package source

//go:noescape
func mix4(dst, src *float32, n int, gain float32)

//go:noescape
func scale4(x *float32, n int, gain float32)

//go:noescape
func magnitudes4(x *float32, n int, sums, tops *[4]float32)

//go:noescape
func travel4(to, from *float32, n int, c *[3]float32)

//go:noescape
func dot4(a, b *float32, n int, sums *[8]float32)

// products sums the products of a and b into eight sums, one for each place in
// a group of eight. Both are as long, a multiple of eight.
func products(a, b []float32, sums *[8]float32) {
	if n := min(len(a), len(b)) &^ 7; n > 0 {
		dot4(&a[0], &b[0], n, sums)
	}
}

// mix adds src times gain to dst, which is at least as long.
func mix(dst, src []float32, gain float32) {
	dst = dst[:len(src)]
	if n := len(src) &^ 7; n > 0 {
		mix4(&dst[0], &src[0], n, gain)
		dst, src = dst[n:], src[n:]
	}
	mixGo(dst, src, gain)
}

// scale multiplies x by gain.
func scale(x []float32, gain float32) {
	if n := len(x) &^ 7; n > 0 {
		scale4(&x[0], n, gain)
		x = x[n:]
	}
	scaleGo(x, gain)
}

// magnitudes returns sums and maxima of the magnitudes of every fourth sample,
// from each of the first four on. The length is a multiple of four.
func magnitudes(x []float32, sums, tops *[4]float32) {
	if len(x) > 0 {
		magnitudes4(&x[0], len(x)&^3, sums, tops)
	}
}

// travel sends what is in x once more through a string's loop, period after
// period: x[i+lag] = c0·x[i+2] + c1·x[i+1] + c2·x[i]. The lag is at least 6.
func travel(x []float32, lag int, c *[3]float32) {
	n := len(x) - lag
	if k := n &^ 3; k > 0 {
		travel4(&x[lag], &x[0], k, c)
		x, n = x[k:], n-k
	}
	if n > 0 {
		travelGo(x, lag, c)
	}
}
