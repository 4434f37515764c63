package meter

import (
	"math"

	"slowneedle/audio"
)

// RMS measures the root mean square of one channel, and counts its clipped
// samples too. The zero value is ready. Samples that are no finite number count as
// silence.
type RMS struct {
	// Clip is the magnitude at or above which a sample counts as clipped; 0 means 1,
	// full scale. Set it before the first Process.
	Clip float32

	sum     float64 // of the squares
	frames  int64
	clipped int64
}

// Process takes any number of samples.
func (r *RMS) Process(samples []float32) {
	clip := r.Clip
	if clip == 0 {
		clip = 1
	}
	sum := r.sum
	for _, v := range samples {
		size := abs32(v)
		if size >= clip {
			r.clipped++
		}
		if size <= math.MaxFloat32 {
			sum += float64(v) * float64(v) // an exact product
		}
	}
	r.sum = sum
	r.frames += int64(len(samples))
}

// Level is the root mean square so far in dB relative to full scale: a full-scale
// square wave is 0, a full-scale sine -3.01. It is -Inf for silence.
func (r *RMS) Level() float64 {
	return audio.DB(math.Sqrt(r.sum / float64(max(r.frames, 1))))
}

// Clipped is how many samples so far reached the clip level.
func (r *RMS) Clipped() int64 { return r.clipped }
