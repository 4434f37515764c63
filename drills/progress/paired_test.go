package progress

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Student's own example of paired measures: hours of sleep gained by two drugs
// ("The Probable Error of a Mean", Biometrika 6, 1, 1908). R's manual has the
// interval of the difference ("Student's Sleep Data", t.test).
var sleep1, sleep2 = []float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0},
	[]float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4}

func TestPairedByStudent(t *testing.T) {
	c := Paired(sleep1, sleep2)
	near(t, "mean", c.Mean.Value, 1.58, 1e-9)
	near(t, "lower end", c.Mean.Lo, 0.7001142, 1e-6)
	near(t, "upper end", c.Mean.Hi, 2.4598858, 1e-6)
	// By hand, from the deviations 1.789010 and 2.002249 that R gives: 1.58 over
	// the root of the mean variance, times 1 - 3/35.
	near(t, "effect", c.Effect.Value, 1.58/math.Sqrt((1.789010*1.789010+2.002249*2.002249)/2)*32/35, 1e-5)
	// Bonett's interval by hand, with R's correlation of 0.7951702.
	v1, v2, cov := 1.789010*1.789010, 2.002249*2.002249, 0.7951702*1.789010*2.002249
	v := (v1 + v2) / 2
	d := 1.58 / math.Sqrt(v)
	half := 1.959964 * math.Sqrt(d*d*(v1*v1+v2*v2+2*cov*cov)/(8*9*v*v)+(v1+v2-2*cov)/(9*v))
	near(t, "lower end of the effect", c.Effect.Lo, d-half, 1e-5)
	near(t, "upper end of the effect", c.Effect.Hi, d+half, 1e-5)
	if c.Learners != 10 {
		t.Errorf("%d learners", c.Learners)
	}
}

// The examples of ci.stdmean.ps in D. G. Bonett's R package statpsych: in the
// first line of each the estimate without correction and its interval.
func TestEffectByBonett(t *testing.T) {
	for _, x := range []struct{ m1, m2, sd1, sd2, cor, n, d, lo, hi, exact float64 }{
		{110.4, 102.1, 15.3, 14.6, 0.75, 25, 0.5550319, 0.2394905, 0.8705732, 1e-6},
		{602.4, 705.6, 33.17, 51.08, 0.769, 8, -2.3963, -3.6744, -1.1182, 1e-4},
	} {
		got := effect(x.m1-x.m2, x.sd1*x.sd1, x.sd2*x.sd2, x.cor*x.sd1*x.sd2, x.n)
		near(t, "estimate", got.Value/(1-3/(4*(x.n-1)-1)), x.d, x.exact)
		near(t, "lower end", got.Lo, x.lo, x.exact)
		near(t, "upper end", got.Hi, x.hi, x.exact)
	}
}

func TestPairedNeedsLearners(t *testing.T) {
	for n := range 6 {
		c := Paired(sleep1[:n], sleep2[:n])
		if c.Learners != n || c.Mean.OK != (n >= 2) || c.Effect.OK != (n >= 4) {
			t.Errorf("%d learners: %+v", n, c)
		}
	}
	if c := Paired(sleep1, sleep2[:9]); c.Mean.OK {
		t.Errorf("unlike lengths: %+v", c)
	}
	if c := Paired([]float64{3, 3, 3, 3}, []float64{3, 3, 3, 3}); c.Effect.OK || c.Mean.Value != 0 {
		t.Errorf("no variance: %+v", c)
	}
}

// Classes of learners who differ in ability and in what they gain, each measured
// by twenty rounds before and after: the intervals hold the truth 95 % of the
// time. The true effect is that of a very large class.
func TestPairedHoldsTheTruth(t *testing.T) {
	const cases = 4000
	class := func(rng *rand.Rand, n int) (before, after []float64) {
		for range n {
			ability, gain := 1.6+0.35*rng.NormFloat64(), -0.5+0.25*rng.NormFloat64()
			x, y := 0.0, 0.0
			for range 20 { // a round errs by a uniform share of twice the ability
				x += 2 * ability * rng.Float64() / 20
				y += 2 * (ability + gain) * rng.Float64() / 20
			}
			before, after = append(before, x), append(after, y)
		}
		return before, after
	}
	truth := Paired(class(rand.New(rand.NewPCG(1, 1)), 400_000)).Effect.Value
	for _, n := range []int{10, 20, 60} {
		rng := rand.New(rand.NewPCG(97, uint64(n)))
		var mean, effect covers
		for range cases {
			c := Paired(class(rng, n))
			mean.add(c.Mean, -0.5)
			effect.add(c.Effect, truth)
		}
		mean.check(t, "change of a class", n)
		effect.check(t, "effect size", n)
	}
}
