package progress

import (
	"math"
	"testing"
)

// figures makes n samples with exactly this mean and standard deviation.
func figures(n int, mean, sd float64) []float64 {
	x := make([]float64, n)
	d := sd * math.Sqrt(float64(n-1)/float64(n/2*2))
	for i := range x {
		x[i] = mean
		if i < n/2*2 {
			x[i] += d * float64(1-2*(i%2))
		}
	}
	return x
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.8g, want %.8g +-%.1g", what, got, want, within)
	}
}

// Worked examples of confidence limits of a mean.
func TestMean(t *testing.T) {
	for _, tt := range []struct {
		source       string
		x            []float64
		mean, lo, hi float64
	}{
		{"e-Handbook 1.3.5.2, heat flow meter", figures(195, 9.26146, 0.02278881), 9.26146, 9.25824, 9.26468},
		{"Analyst 108 (1983) p. 64, mercury", []float64{38.9, 37.4, 37.1}, 37.8, 35.40438, 40.19562},
	} {
		got := Mean(tt.x)
		near(t, tt.source+", mean", got.Value, tt.mean, 1e-5)
		near(t, tt.source+", lower", got.Lo, tt.lo, 1e-5)
		near(t, tt.source+", upper", got.Hi, tt.hi, 1e-5)
	}
}

// Worked example, and limits from critical values of chi-square as tables
// print them (e-Handbook 1.3.6.7.4; from memory).
func TestStdDev(t *testing.T) {
	got := StdDev(figures(100, 0.998, 0.006278908)) // e-Handbook 1.3.5.8, gear diameters
	near(t, "gears", got.Value, 0.006278908, 1e-9)
	near(t, "gears, lower", got.Lo, 0.00551, 5e-6)
	near(t, "gears, upper", got.Hi, 0.00729, 5e-6)
	for _, tt := range []struct {
		n            int
		upper, lower float64 // critical values at 2.5 % to either side
	}{
		{10, 19.023, 2.700},
		{30, 45.722, 16.047},
		{100, 128.422, 73.361},
	} {
		got := StdDev(figures(tt.n, 0, 1))
		near(t, "lower", got.Lo, math.Sqrt(float64(tt.n-1)/tt.upper), 2e-4)
		near(t, "upper", got.Hi, math.Sqrt(float64(tt.n-1)/tt.lower), 2e-4)
	}
}

// Wilson's limits as published: R. G. Newcombe, "Two-sided confidence
// intervals for the single proportion: comparison of seven methods", Statistics
// in Medicine 17, 857 (1998), method 3 (from memory).
func TestShare(t *testing.T) {
	for _, tt := range []struct {
		hits, n int
		lo, hi  float64
	}{
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0, 0.1611},
		{1, 29, 0.0061, 0.1718},
		{29, 29, 1 - 0.1170, 1},
	} {
		got := Share(tt.hits, tt.n)
		near(t, "share", got.Value, float64(tt.hits)/float64(tt.n), 1e-12)
		near(t, "lower", got.Lo, tt.lo, 5.1e-5)
		near(t, "upper", got.Hi, tt.hi, 5.1e-5)
	}
}

// NIST Statistical Reference Datasets, linear regression, Norris: ozone monitor
// calibration, with certified slope and standard error; t for 34 degrees of
// freedom at 97.5 % from tables.
func TestSlope(t *testing.T) {
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
		339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2,
		117.6, 228.9, 668.4, 449.2, 0.2}
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9,
		338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1,
		118.3, 229.2, 669.1, 448.9, 0.5}
	const slope, standardError, t34 = 1.00211681802045, 0.429796848199937e-3, 2.032245
	got := Slope(x, y)
	near(t, "slope", got.Value, slope, 1e-12)
	near(t, "lower", got.Lo, slope-t34*standardError, 1e-9)
	near(t, "upper", got.Hi, slope+t34*standardError, 1e-9)
}

func TestTooLittleForAnInterval(t *testing.T) {
	for name, got := range map[string]Interval{
		"mean of one":              Mean([]float64{1}),
		"deviation of one":         StdDev([]float64{1}),
		"share of none":            Share(0, 0),
		"slope through two":        Slope([]float64{1, 2}, []float64{1, 2}),
		"slope of unequal lengths": Slope([]float64{1, 2, 3}, []float64{1, 2}),
		"slope straight up":        Slope([]float64{1, 1, 1}, []float64{1, 2, 3}),
	} {
		if got != (Interval{}) {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if !Mean([]float64{1, 2}).OK || !StdDev([]float64{1, 2}).OK || !Share(1, 1).OK || !Slope([]float64{1, 2, 3}, []float64{1, 2, 4}).OK {
		t.Error("as much as an interval needs is not enough")
	}
	if (Interval{}).Excludes(5) || !(Interval{2, 1, 3, true}).Excludes(0) || (Interval{2, 1, 3, true}).Excludes(1) ||
		(Interval{2, 1, 3, true}).Excludes(3) || !(Interval{2, 1, 3, true}).Excludes(3.1) {
		t.Error("Excludes")
	}
}
