package meter

import (
	"math"

	"slowneedle/audio"
)

// RMS measures the root mean square of one channel, and counts its clipped
// samples on the way. The zero value is ready.
//
// Samples that are no finite number silence the 32 frames they stand in.
type RMS struct {
	// Clip is the magnitude at or above which a sample counts as clipped; 0 means 1,
	// full scale. Set it before the first Process.
	Clip float32

	pending [chunk]float32
	n       int
	sum     float64
	chunks  int64
	clipped int64
}

// Process takes a block of any length.
func (r *RMS) Process(block []float32) {
	if r.n > 0 {
		m := copy(r.pending[r.n:], block)
		block = block[m:]
		if r.n += m; r.n < chunk {
			return
		}
		r.add(&r.pending)
	}
	for ; len(block) >= chunk; block = block[chunk:] {
		r.add((*[chunk]float32)(block))
	}
	r.n = copy(r.pending[:], block)
}

func (r *RMS) add(x *[chunk]float32) {
	sum, clipped := r.measure(x)
	r.sum += sum
	r.clipped += clipped
	r.chunks++
}

// measure returns the sum of squares of a chunk and how many samples are clipped.
func (r *RMS) measure(x *[chunk]float32) (sum float64, clipped int64) {
	var l lanes
	squares(x, &l)
	s := l.fold()
	clip := r.Clip
	if clip == 0 {
		clip = 1
	}
	if !(s.peak < clip) { // or there is a NaN
		for _, v := range x {
			if abs32(v) >= clip {
				clipped++
			}
		}
	}
	return finite(s.magnitude), clipped
}

// total returns the sum of squares, the frames and the clipped samples so far.
func (r *RMS) total() (sum float64, frames, clipped int64) {
	var rest [chunk]float32
	copy(rest[:], r.pending[:r.n])
	sum, clipped = r.measure(&rest)
	return r.sum + sum, r.chunks*chunk + int64(r.n), r.clipped + clipped
}

// Level is the root mean square so far in dB relative to full scale: a full-scale
// square wave is 0, a full-scale sine -3.01. It is -Inf for silence.
func (r *RMS) Level() float64 {
	sum, frames, _ := r.total()
	return audio.DB(math.Sqrt(sum / max(float64(frames), 1)))
}

// Clipped is how many samples so far reached the clip level.
func (r *RMS) Clipped() int64 {
	_, _, clipped := r.total()
	return clipped
}

// Reset forgets what was heard.
func (r *RMS) Reset() { *r = RMS{Clip: r.Clip} }
