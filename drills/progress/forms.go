package progress

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// FormChange is what became of one learner from one test form to another.
type FormChange struct {
	Before, After int      // rounds of each
	SizeDB        Interval // change of the mean size of the error; below zero is better
	Spread        Interval // standard deviation of the error, after over before; below one is better
	// NeededDB is how large the change of the mean size has to be before it is
	// called real: half its interval.
	NeededDB float64
}

// Real reports whether the size of the error has changed beyond chance.
func (c FormChange) Real() bool { return c.SizeDB.Excludes(0) }

// formRounds is how many rounds of each form a claim needs.
const formRounds = 10

// CompareForms compares the errors of a learner on two equivalent forms, dB. The
// change of the mean size has the t interval of two samples with unlike
// variances (B. L. Welch; NIST/SEMATECH e-Handbook 1.3.5.3), the ratio of the
// standard deviations the F interval (e-Handbook 1.3.5.9).
func CompareForms(before, after []float64) FormChange {
	c := FormChange{Before: len(before), After: len(after)}
	if min(c.Before, c.After) < formRounds {
		return c
	}
	n1, n2 := float64(c.Before), float64(c.After)
	s1, s2 := sizes(before), sizes(after)
	se, free := welch(variance(s1), n1, variance(s2), n2)
	change := meanOf(s2) - meanOf(s1)
	if free > 0 {
		c.NeededDB = tQuantile(free) * se
		c.SizeDB = Interval{change, change - c.NeededDB, change + c.NeededDB, true}
	}
	if v1, v2 := variance(before), variance(after); v1 > 0 && v2 > 0 {
		f := v2 / v1
		c.Spread = Interval{math.Sqrt(f), math.Sqrt(f / fQuantile((1+confidence)/2, n2-1, n1-1)),
			math.Sqrt(f / fQuantile((1-confidence)/2, n2-1, n1-1)), true}
	}
	return c
}

func sizes(errs []float64) []float64 {
	s := make([]float64, len(errs))
	for i, e := range errs {
		s[i] = math.Abs(e)
	}
	return s
}

func variance(x []float64) float64 {
	m := meanOf(x)
	return sumOfProducts(x, m, x, m) / float64(len(x)-1)
}

// welch returns the standard error of the difference of two means, and the
// degrees of freedom of its t; both 0 without any variance.
func welch(v1, n1, v2, n2 float64) (se, free float64) {
	a, b := v1/n1, v2/n2
	if a+b == 0 {
		return 0, 0
	}
	return math.Sqrt(a + b), (a + b) * (a + b) / (a*a/(n1-1) + b*b/(n2-1))
}

// fQuantile is that of the F distribution, by way of the incomplete beta
// function (M. Abramowitz, I. A. Stegun, "Handbook of Mathematical Functions",
// 26.6.2).
func fQuantile(p, nu1, nu2 float64) float64 {
	x := mathext.InvRegIncBeta(nu1/2, nu2/2, p)
	return nu2 * x / (nu1 * (1 - x))
}
