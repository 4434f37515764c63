package progress

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// confidence is that of every interval in this package.
const confidence = 0.95

// Interval is a figure with its 95 % confidence interval.
type Interval struct {
	Value, Lo, Hi float64
	OK            bool // false: too few takes, no claim is made and the figures are 0
}

// Excludes reports whether the interval lies entirely to one side of a value.
func (i Interval) Excludes(v float64) bool { return i.OK && (v < i.Lo || v > i.Hi) }

// Mean gives the mean of samples from a normal distribution, with the t
// interval (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2). It needs
// two samples.
func Mean(x []float64) Interval {
	if len(x) < 2 {
		return Interval{}
	}
	mean, _ := normal(x)
	return mean
}

// StdDev gives the standard deviation of samples from a normal distribution,
// with the chi-square interval (e-Handbook, 7.2.3.1). It needs two samples.
func StdDev(x []float64) Interval {
	if len(x) < 2 {
		return Interval{}
	}
	_, sd := normal(x)
	return sd
}

// normal gives mean and standard deviation of two samples or more.
func normal(x []float64) (mean, deviation Interval) {
	m, n, free := meanOf(x), float64(len(x)), float64(len(x)-1)
	sd := math.Sqrt(variance(x))
	half := tQuantile(free) * sd / math.Sqrt(n)
	chi := func(p float64) float64 { return 2 * mathext.GammaIncRegInv(free/2, p) }
	return Interval{m, m - half, m + half, true},
		Interval{sd, sd * math.Sqrt(free/chi((1+confidence)/2)), sd * math.Sqrt(free/chi((1-confidence)/2)), true}
}

// Share gives hits out of n with the interval of E. B. Wilson, "Probable
// Inference, the Law of Succession, and Statistical Inference", J. Am. Stat.
// Assoc. 22, 209 (1927). It needs one.
func Share(hits, n int) Interval {
	if n < 1 {
		return Interval{}
	}
	z := mathext.NormalQuantile((1 + confidence) / 2)
	m := float64(n)
	p := float64(hits) / m
	z2 := z * z / m
	mid := (p + z2/2) / (1 + z2)
	half := z / (1 + z2) * math.Sqrt(p*(1-p)/m+z2/(4*m))
	return Interval{p, max(mid-half, 0), min(mid+half, 1), true}
}

// Slope gives the slope of the least-squares line through points, with the t
// interval of its standard error (e-Handbook, 4.1.4.1 and 4.4.3). It needs
// three points that do not stand above one another.
func Slope(x, y []float64) Interval {
	if len(x) < 3 || len(x) != len(y) {
		return Interval{}
	}
	mx, my := meanOf(x), meanOf(y)
	ss := sumOfProducts(x, mx, x, mx)
	if ss == 0 {
		return Interval{}
	}
	b := sumOfProducts(x, mx, y, my) / ss
	var rest float64
	for i := range x {
		r := y[i] - my - b*(x[i]-mx)
		rest += r * r
	}
	free := float64(len(x) - 2)
	half := tQuantile(free) * math.Sqrt(rest/free/ss)
	return Interval{b, b - half, b + half, true}
}

// tQuantile is the upper end of the central 95 % of Student's t, by way of the
// incomplete beta function (M. Abramowitz, I. A. Stegun, "Handbook of
// Mathematical Functions", 26.7.1).
func tQuantile(nu float64) float64 {
	x := mathext.InvRegIncBeta(nu/2, 0.5, 1-confidence)
	return math.Sqrt(nu * (1 - x) / x)
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// sumOfProducts sums the products of the deviations of two series from their means.
func sumOfProducts(x []float64, mx float64, y []float64, my float64) float64 {
	sum := 0.0
	for i := range x {
		sum += (x[i] - mx) * (y[i] - my)
	}
	return sum
}
