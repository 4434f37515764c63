package listen

import (
	"math"
	"testing"

	"slowneedle/audio"
)

// Blocks of any size give the same meters and the same last seconds; the needle shows
// a tone's level, the lamp its peaks.
func TestBlocks(t *testing.T) {
	x := make([]float32, 3*audio.Rate)
	for i := range x {
		x[i] = float32(audio.Gain(-18) * math.Sin(2*math.Pi*1000*float64(i)/audio.Rate))
	}
	for _, size := range []int{1, 479, 480, 1024, len(x)} {
		e := New(1, -18.01, 0.15)
		for at := 0; at < len(x); at += size {
			to := min(at+size, len(x))
			e.Take([2][]float32{x[at:to], make([]float32, to-at)})
		}
		all := e.Snapshots()
		last := all[len(all)-1]
		if last.At != int64(len(x)) || math.Abs(last.NeedleDBFS[0]+18) > 0.02 || !math.IsInf(last.PeakDBFS[1], -1) || math.Abs(last.PeakDBFS[0]+18) > 0.02 || !last.Lit {
			t.Errorf("in blocks of %d: %+v", size, last)
		}
		if len(e.Snapshots()) != 0 {
			t.Error("snapshots come twice")
		}
		got := e.Span(int64(len(x))-audio.Rate-10, int64(len(x))+5)
		for i, v := range got[0] {
			at := len(x) - audio.Rate - 10 + i
			want := float32(0)
			if at >= len(x)-audio.Rate && at < len(x) {
				want = x[at]
			}
			if v != want {
				t.Fatalf("in blocks of %d: frame %d is %v, want %v", size, at, v, want)
			}
		}
	}
}

// Three samples in a row at full scale are clipped, two may be a peak; across blocks
// too.
func TestClipped(t *testing.T) {
	e := New(1, 0, 0.15)
	quiet := make([]float32, 8)
	take := func(l ...float32) { e.Take([2][]float32{l, quiet[:len(l)]}) }
	take(0.5, 1, 1, 0.5)
	if got := e.Clipped(); got != 0 {
		t.Errorf("%d clipped in two in a row", got)
	}
	take(0, 1, 0.99997)
	take(1, 1, 0)
	if got := e.Clipped(); got != 4 {
		t.Errorf("%d clipped, want 4", got)
	}
	take(-1, -1, -1)
	if got := e.Clipped(); got != 7 {
		t.Errorf("%d clipped, want 7", got)
	}
	// The other channel has clipped less: of two it is the one that has more.
	e.Take([2][]float32{quiet[:4], {1, 1, 1, 1}})
	if got := e.Clipped(); got != 7 {
		t.Errorf("%d clipped, want 7: those of the left", got)
	}
	nan := float32(math.NaN())
	take(nan, nan, nan, nan)
	if got := e.Clipped(); got != 7 {
		t.Errorf("%d clipped, want 7: what is no number is not at full scale", got)
	}
}
