package progress

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mathext"
)

// FormRounds is how many rounds a test form has.
const FormRounds = 20

// formPause is the longest time between two rounds of a test form: after a longer
// one it begins again.
const formPause = 12 * time.Hour

// Form is a test form that a learner has played, or plays.
type Form struct {
	Code   string // class code of the form
	Began  time.Time
	Last   time.Time // of the newest round
	Errors []float64 // in dB, round by round
}

// Complete reports whether all rounds of the form have their take.
func (f Form) Complete() bool { return len(f.Errors) == FormRounds }

// SizeDB is the mean size of the error of a form; see CompareForms.
func (f Form) SizeDB() float64 { return meanOf(sizes(f.Errors)) }

// addToForm counts a take of a test form.
func (b *Book) addToForm(m Mark) {
	last := len(b.forms) - 1
	if last < 0 || b.forms[last].Code != m.Form || b.forms[last].Complete() || m.At.Sub(b.forms[last].Last) > formPause {
		b.forms = append(b.forms, Form{Code: m.Form, Began: m.At})
		last++
	}
	f := &b.forms[last]
	f.Last = m.At
	f.Errors = append(f.Errors, m.ErrorDB)
}

// FormUnder returns the test form that is gone on with; ok is false if none is.
func (b *Book) FormUnder(now time.Time) (f Form, ok bool) {
	if len(b.forms) == 0 {
		return Form{}, false
	}
	f = b.forms[len(b.forms)-1]
	return f, !f.Complete() && now.Sub(f.Last) <= formPause
}

// Forms returns the test forms that were played to their end, oldest first.
func (b *Book) Forms() []Form {
	return slices.DeleteFunc(slices.Clone(b.forms), func(f Form) bool { return !f.Complete() })
}

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

// MostFormDB is what a larger error counts as, so that a round that was abandoned
// does not decide.
const MostFormDB = 10

// CompareForms compares the errors of a learner on two equivalent forms, dB; one
// above 10 dB counts as 10. The change of the mean size has the t interval of two
// samples with unlike variances (B. L. Welch; NIST/SEMATECH e-Handbook 1.3.5.3),
// the ratio of the standard deviations the F interval (e-Handbook 1.3.5.9).
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
	if v1, v2 := variance(limited(before)), variance(limited(after)); v1 > 0 && v2 > 0 {
		f := v2 / v1
		c.Spread = Interval{math.Sqrt(f), math.Sqrt(f / fQuantile((1+confidence)/2, n2-1, n1-1)),
			math.Sqrt(f / fQuantile((1-confidence)/2, n2-1, n1-1)), true}
	}
	return c
}

// limited returns errors none of which is larger than MostFormDB.
func limited(errs []float64) []float64 {
	all := make([]float64, len(errs))
	for i, e := range errs {
		all[i] = max(-MostFormDB, min(MostFormDB, e))
	}
	return all
}

// sizes are those of errors, none above MostFormDB.
func sizes(errs []float64) []float64 {
	all := limited(errs)
	for i, e := range all {
		all[i] = math.Abs(e)
	}
	return all
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
