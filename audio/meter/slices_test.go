package meter_test

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// A loop read in slices reads as in one go, to the last bit.
func TestReadLoopInSlices(t *testing.T) {
	for _, n := range []int{0, 1, 31, 4096, 12*audio.Rate + 17} {
		x := make([]float32, n)
		for i := range x {
			at := float64(i) / audio.Rate
			x[i] = float32(0.3*math.Sin(2*math.Pi*1234*at)*math.Pow(math.Sin(2*math.Pi*1.3*at), 4) + 0.01)
		}
		count := 0
		got, want := meter.ReadLoopInSlices(x, audio.Rate, func() { count++ }), meter.ReadLoop(x, audio.Rate)
		if got != want {
			t.Errorf("%d frames: %+v in slices, %+v in one go", n, got, want)
		}
		if count < n/40000 {
			t.Errorf("%d frames: only %d slices", n, count)
		}
	}
}
