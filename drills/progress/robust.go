package progress

import (
	"math"
	"slices"
)

// median returns the middle value, or the mean of the two in the middle; 0 of
// none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// mostModifiedZ is the modified z-score above which a value counts as an
// outlier.
const mostModifiedZ = 3.5

// leastOutlierDB is how far from the median an outlier is at least: twice the
// widest tolerance. What is nearer is an error like others, however even a hand
// was otherwise.
const leastOutlierDB = 6

// regular returns the errors without outliers.
func regular(errs []float64) []float64 {
	lo, hi := usual(errs)
	var kept []float64
	for _, e := range errs {
		if lo <= e && e <= hi {
			kept = append(kept, e)
		}
	}
	return kept
}

// usual returns between which values errors are no outliers, such as takes that were
// abandoned. An outlier's modified z-score, 0.6745 times the distance from the median
// over the median of these distances, is above 3.5 (B. Iglewicz, D. Hoaglin, "How to
// Detect and Handle Outliers", 1993; NIST/SEMATECH e-Handbook 1.3.5.17), and it is also
// leastOutlierDB from the median.
func usual(errs []float64) (lo, hi float64) {
	m := median(errs)
	distance := make([]float64, len(errs))
	for i, e := range errs {
		distance[i] = math.Abs(e - m)
	}
	most := max(mostModifiedZ/0.6745*median(distance), leastOutlierDB)
	return m - most, m + most
}
