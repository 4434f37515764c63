package progress

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// confidence is that of every interval in this package.
const confidence = 0.95

// Interval is a figure with its 95 % confidence interval.
type Interval struct {
	Value, Lo, Hi float64
	OK            bool // false: too few takes, no claim is made and the figures are 0
}

// Excludes reports whether the interval lies wholly to one side of a value.
func (i Interval) Excludes(v float64) bool { return i.OK && (v < i.Lo || v > i.Hi) }

// quantiles are those that intervals from n samples need.
type quantiles struct {
	n          int
	t          float64 // Student's t with n-1 degrees of freedom, upper end
	chiL, chiH float64 // chi-square with n-1, lower and upper end
}

func quantilesOf(n int) quantiles {
	chi := distuv.ChiSquared{K: float64(n - 1)}
	return quantiles{n, tQuantile(float64(n - 1)), chi.Quantile((1 - confidence) / 2), chi.Quantile((1 + confidence) / 2)}
}

// Mean gives the mean of samples from a normal distribution, with the t
// interval (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2). It needs
// two samples.
func Mean(x []float64) Interval {
	if len(x) < 2 {
		return Interval{}
	}
	mean, _ := quantilesOf(len(x)).normal(x)
	return mean
}

// StdDev gives the standard deviation of samples from a normal distribution,
// with the chi-square interval (e-Handbook, 7.2.3.1). It needs two samples.
func StdDev(x []float64) Interval {
	if len(x) < 2 {
		return Interval{}
	}
	_, sd := quantilesOf(len(x)).normal(x)
	return sd
}

// normal gives mean and standard deviation of q.n samples.
func (q quantiles) normal(x []float64) (mean, deviation Interval) {
	m, sd := stat.MeanStdDev(x, nil)
	half := q.t * sd / math.Sqrt(float64(q.n))
	free := float64(q.n - 1)
	return Interval{m, m - half, m + half, true},
		Interval{sd, sd * math.Sqrt(free/q.chiH), sd * math.Sqrt(free/q.chiL), true}
}

// Share gives hits out of n with the interval of E. B. Wilson, "Probable
// Inference, the Law of Succession, and Statistical Inference", J. Am. Stat.
// Assoc. 22, 209 (1927). It needs one.
func Share(hits, n int) Interval {
	if n < 1 {
		return Interval{}
	}
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
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
	a, b := stat.LinearRegression(x, y, nil, false)
	mx := stat.Mean(x, nil)
	var ss, rest float64
	for i := range x {
		ss += (x[i] - mx) * (x[i] - mx)
		r := y[i] - a - b*x[i]
		rest += r * r
	}
	if ss == 0 {
		return Interval{}
	}
	free := float64(len(x) - 2)
	half := tQuantile(free) * math.Sqrt(rest/free/ss)
	return Interval{b, b - half, b + half, true}
}

// tQuantile is the upper end of the central 95 % of Student's t.
func tQuantile(nu float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile((1 + confidence) / 2)
}
