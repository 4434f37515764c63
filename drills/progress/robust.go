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

// RobustSpread estimates the standard deviation of samples that are normally
// distributed but for a few, such as takes that were abandoned: the median
// distance from the median (MAD), times 1.4826, which makes it that of a normal
// distribution, and the factor of n/(n-0.8) for few samples (P. J. Rousseeuw, C.
// Croux, "Alternatives to the Median Absolute Deviation", J. Am. Stat. Assoc.
// 88, 1273, 1993; the factor for more than nine samples is theirs). Up to half
// the samples may be anything. It needs two.
func RobustSpread(x []float64) float64 {
	m := median(x)
	distance := make([]float64, len(x))
	for i, v := range x {
		distance[i] = math.Abs(v - m)
	}
	n := float64(len(x))
	return 1.4826 * median(distance) * n / (n - 0.8)
}
