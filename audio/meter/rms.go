package meter

import (
	"math"

	"slowneedle/audio"
)

// RMS measures the root mean square of one channel, and counts its clipped
// samples too. The zero value is ready.
//
// Samples that are no finite number silence the 32 frames they stand in.
type RMS struct {
	// Clip is the magnitude at or above which a sample counts as clipped; 0 means 1,
	// full scale. Set it before the first Process.
	Clip float32

	pending [blockFrames]float32
	n       int
	sum     float64
	blocks  int64
	clipped int64
}

// Process takes any number of samples.
func (r *RMS) Process(samples []float32) {
	if r.n > 0 {
		m := copy(r.pending[r.n:], samples)
		samples = samples[m:]
		if r.n += m; r.n < blockFrames {
			return
		}
		r.add(&r.pending)
	}
	for ; len(samples) >= blockFrames; samples = samples[blockFrames:] {
		r.add((*[blockFrames]float32)(samples))
	}
	r.n = copy(r.pending[:], samples)
}

func (r *RMS) add(x *[blockFrames]float32) {
	sum, clipped := r.measure(x)
	r.sum += sum
	r.clipped += clipped
	r.blocks++
}

// measure returns the sum of squares of a block and how many samples are clipped.
func (r *RMS) measure(x *[blockFrames]float32) (sum float64, clipped int64) {
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
	var rest [blockFrames]float32
	copy(rest[:], r.pending[:r.n])
	sum, clipped = r.measure(&rest)
	return r.sum + sum, r.blocks*blockFrames + int64(r.n), r.clipped + clipped
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
