package meter

import "math"

// histogram keeps the gating blocks of an integrated loudness: bins of 0.01 LU from the absolute
// gate up, each with the number and the exact sum of its blocks' mean squares.
type histogram struct {
	count [gateBins]int64
	sum   [gateBins]float64
}

const (
	gateLUFS    = -70.0 // absolute gate
	gateBelow   = 0.1   // relative gate: 10 LU below the mean, as a ratio of mean squares
	binsPerLU   = 100
	gateBins    = 100 * binsPerLU // up to +30 LUFS; what is above goes into the last
	gateTopBins = gateBins - 1
)

// bin returns where a mean square belongs; negative at or below the absolute gate.
func bin(meanSquare float64) int {
	l := lufs(meanSquare)
	if !(l > gateLUFS) {
		return -1
	}
	return min(int(math.Floor((l-gateLUFS)*binsPerLU)), gateTopBins)
}

func (h *histogram) add(meanSquare float64) {
	if b := bin(meanSquare); b >= 0 {
		h.count[b]++
		h.sum[b] += meanSquare
	}
}

// from returns the mean of the bins from b up.
func (h *histogram) from(b int) float64 {
	var n int64
	var sum float64
	for i := b; i < gateBins; i++ {
		n += h.count[i]
		sum += h.sum[i]
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// mean returns the mean square of what passes both gates, 0 if nothing does. The
// bin on the relative gate passes if its own mean does.
func (h *histogram) mean() float64 {
	threshold := h.from(0) * gateBelow
	b := bin(threshold)
	if b < 0 {
		return h.from(0)
	}
	if h.sum[b] <= float64(threshold*float64(h.count[b])) {
		b++
	}
	return h.from(b)
}
