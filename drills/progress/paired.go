package progress

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Change is what became of a figure that the same learners have twice, before
// and after.
type Change struct {
	Learners int
	Mean     Interval // of the changes, after less before, with its t interval
	// Effect is Hedges' g of paired measures; it needs four learners.
	Effect Interval
}

// Paired compares two figures of the same learners, in the same order. It makes
// no claim on fewer than two.
//
// The effect size g_av is the mean change over the root of the mean of both
// variances, with the correction for few learners 1 - 3/(4(n-1) - 1) (L. V.
// Hedges, "Distribution Theory for Glass's Estimator of Effect Size and Related
// Estimators", Journal of Educational Statistics 6, 107, 1981; D. Lakens,
// Frontiers in Psychology 4, 863, 2013). Its interval is that of D. G. Bonett,
// "Confidence Intervals for Standardized Linear Contrasts of Means",
// Psychological Methods 13, 99, 2008, which does not take the variances for
// equal.
func Paired(before, after []float64) Change {
	c := Change{Learners: min(len(before), len(after))}
	if c.Learners < 2 || len(before) != len(after) {
		return c
	}
	change := make([]float64, c.Learners)
	for i := range change {
		change[i] = after[i] - before[i]
	}
	c.Mean = Mean(change)
	n := float64(c.Learners)
	m1, m2 := meanOf(before), meanOf(after)
	v1, v2 := variance(before), variance(after)
	covariance := sumOfProducts(before, m1, after, m2) / (n - 1)
	if c.Learners >= 4 && v1+v2 > 0 {
		c.Effect = effect(m2-m1, v1, v2, covariance, n)
	}
	return c
}

// effect is the effect size of a mean change with two variances and their
// covariance.
func effect(change, v1, v2, covariance, n float64) Interval {
	v := (v1 + v2) / 2
	d := change / math.Sqrt(v)
	free := n - 1
	se := math.Sqrt(d*d*(v1*v1+v2*v2+2*covariance*covariance)/(8*free*v*v) + (v1+v2-2*covariance)/(free*v))
	half := mathext.NormalQuantile((1+confidence)/2) * se
	return Interval{Value: d * (1 - 3/(4*free-1)), Lo: d - half, Hi: d + half, OK: true}
}
