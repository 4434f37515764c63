package game

import (
	"testing"
	"time"
)

// Pictures are halved after three seconds of hard work, not after a moment of it, and
// all are drawn again when the work is light.
func TestPaceFollowsTheWork(t *testing.T) {
	for _, c := range []struct {
		name   string
		shares []float64
		half   bool
	}{
		{"a graphics processor", []float64{0.1, 0.15, 0.1, 0.1, 0.1}, false},
		{"drawn by the processor", []float64{1.2, 1.26, 1.3}, true},
		{"a moment", []float64{1.2, 1.2, 0.3, 1.2, 1.2}, false},
		{"stays while half is work enough", []float64{1.2, 1.2, 1.2, 0.6, 0.65, 0.5}, true},
		{"nothing moves any more", []float64{1.2, 1.2, 1.2, 0.6, 0.1}, false},
	} {
		p := pace{}
		for _, share := range c.shares {
			p.second(share)
		}
		if p.half != c.half {
			t.Errorf("%s: half %v, want %v", c.name, p.half, c.half)
		}
	}
}

// Where nothing holds the pictures back there are 60 a second, or 30.
func TestPace(t *testing.T) {
	for _, half := range []bool{false, true} {
		p := pace{half: half}
		p.wait()
		begin := time.Now()
		for range 6 {
			p.half = half
			p.wait()
		}
		want := 6 * time.Second / 60
		if half {
			want *= 2
		}
		if took := time.Since(begin); took < want*9/10 {
			t.Errorf("half %v: 6 pictures in %v, want %v at least", half, took, want)
		}
	}
}
