//go:build !amd64

package source

func mix(dst, src []float32, gain float32) { mixGo(dst, src, gain) }

func scale(x []float32, gain float32) { scaleGo(x, gain) }

func magnitudes(x []float32, sums, tops *[4]float32) { magnitudesGo(x, sums, tops) }

func travel(x []float32, lag int, c *[3]float32) { travelGo(x, lag, c) }

func products(a, b []float32, sums *[8]float32) { productsGo(a, b, sums) }
