package source

import (
	"math"
	"math/big"
)

// The resampler's filter: a sinc under a Kaiser window, reaching over 40
// samples of the lower rate to each side. It passes up to 0.9 of the lower
// rate's half and stops from 1.05 of it on, by more than 85 dB (Kaiser's
// formula: 90 dB over that width).
const (
	sincReach  = 40
	sincCut    = 0.975 // middle of the edge, of the lower rate's half
	kaiserBeta = 8.96
	maxPhases  = 1024

	slicePerPause = 12000 // frames that are made between two pauses
)

// reach returns how many frames at rate from the filter looks to each side, a
// multiple of four so that both sides together are one of eight.
func reach(from, to int) int {
	return (int(math.Ceil(sincReach*max(1, float64(from)/float64(to)))) + 4) &^ 3
}

// resample returns n frames at rate to of x at rate from, which has reach frames
// more on either side. Positions are kept as whole numbers: output i stands exactly
// at i·from/to behind the reach. It calls pause between slices.
func resample(x []float32, from, to, n int, pause func()) []float32 {
	y := make([]float32, n)
	side := reach(from, to)
	if from == to {
		copy(y, x[side:])
		return y
	}
	g := new(big.Int).GCD(nil, nil, big.NewInt(int64(from)), big.NewInt(int64(to))).Int64()
	up, down := int64(to)/g, int64(from)/g
	// As many rows of the filter as there are different positions between two
	// samples, or, where those are too many, maxPhases joined by straight lines.
	rows := int(min(up, maxPhases))
	bank := filterBank(rows, side, min(1, float64(to)/float64(from))*sincCut)
	for i := range y {
		if i%slicePerPause == 0 {
			pause()
		}
		pos := int64(i) * down
		first, part := int(pos/up)+1, pos%up
		in := x[first : first+2*side]
		at := float64(part*int64(rows)) / float64(up)
		k := int(at)
		y[i] = dot(in, bank[k])
		if f := float32(at - float64(k)); f > 0 {
			y[i] += f * (dot(in, bank[k+1]) - y[i])
		}
	}
	return y
}

// filterBank returns rows+1 filters, row r for a position r/rows past a sample.
// Each passes a constant unchanged.
func filterBank(rows, side int, cut float64) [][]float32 {
	bank := make([][]float32, rows+1)
	all := make([]float32, (rows+1)*2*side)
	norm := bessel0(kaiserBeta)
	span := sincReach * sincCut / cut // half-width of the window in frames
	for r := range bank {
		row := all[r*2*side : (r+1)*2*side]
		h := make([]float64, 2*side)
		sum := 0.0
		for k := range h {
			t := float64(k-side+1) - float64(r)/float64(rows)
			if u := t / span; math.Abs(u) < 1 {
				h[k] = sinc(cut*t) * bessel0(kaiserBeta*math.Sqrt(1-u*u)) / norm
			}
			sum += h[k]
		}
		for k, v := range h {
			row[k] = float32(v / sum)
		}
		bank[r] = row
	}
	return bank
}

func sinc(t float64) float64 {
	if t == 0 {
		return 1
	}
	return math.Sin(math.Pi*t) / (math.Pi * t)
}

// bessel0 is the modified Bessel function of the first kind and order 0, by
// its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}

// dot returns the sum of the products of a and b, which are equally long, a
// multiple of four. Four sums let the processor work on one product while it
// waits for another.
func dot(a, b []float32) float32 {
	var s0, s1, s2, s3 float32
	for len(a) >= 4 && len(b) >= 4 {
		s0 += float32(a[0] * b[0])
		s1 += float32(a[1] * b[1])
		s2 += float32(a[2] * b[2])
		s3 += float32(a[3] * b[3])
		a, b = a[4:], b[4:]
	}
	return (s0 + s1) + (s2 + s3)
}
