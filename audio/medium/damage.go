package medium

import (
	"fmt"
	"math"
	"slices"

	"slowneedle/audio"
)

// Damage computes what a medium does to a loop recorded at a gain in dB.
//
// The signal-to-noise ratio in dB is the RMS of what the medium kept of the
// loop, over all its channels, against the A-weighted RMS of the medium's noise
// (IEC 61672-1) in one channel: what is cut off or squeezed away is no signal.
// Distortion in percent is all that the medium adds to the loop
// apart from noise and a change of level, RMS against RMS: for a tone the
// total harmonic distortion, for clipping what was cut off, on tape the loss
// of loud high frequencies too.
//
// The loop has one or two channels of equal length, at audio.Rate; the
// reference is that of New. Silence has a ratio of -Inf and no distortion.
// If pause is not nil, it is called between slices of the work. The error names the
// argument that is wrong.
func Damage(k Kind, referenceDBFS float64, loop [][]float32, gainDB float64, pause func()) (snrDB, distortionPercent float64, err error) {
	if len(loop) == 0 || len(loop) > 2 || len(loop[0]) == 0 || len(loop[len(loop)-1]) != len(loop[0]) {
		return 0, 0, fmt.Errorf("medium: damage of a loop of %d channels: give one or two of equal length, not empty", len(loop))
	}
	if math.IsNaN(gainDB) || gainDB > 120 {
		return 0, 0, fmt.Errorf("medium: damage at a gain of %v dB: give at most 120", gainDB)
	}
	m, err := New(k, referenceDBFS, 0)
	if err != nil {
		return 0, 0, err
	}
	gain := float32(audio.Gain(gainDB))
	if gain == 0 || silent(loop) {
		return math.Inf(-1), 0, nil
	}
	var s sums
	noise := 0.0 // A-weighted RMS
	switch m := m.(type) {
	case *Tape:
		noise = m.hissRMS
		for _, x := range loop {
			s.tape(m, x, gain, pause)
		}
	case *Digital:
		noise = 0.5 / codes * tapeLine().whiteGain
		for _, x := range loop {
			s.clip(x, gain)
		}
	}
	// The best fit of the straight path to the real one is through·both/through².
	kept := s.both / math.Sqrt(s.through*float64(len(loop)*len(loop[0])))
	snrDB = audio.DB(kept / noise)
	left := s.real - float64(s.both*s.both/s.through)
	distortionPercent = 100 * math.Sqrt(max(left, 0)*s.through) / s.both
	return snrDB, distortionPercent, nil
}

func silent(loop [][]float32) bool {
	sounds := func(v float32) bool { return v != 0 }
	return !slices.ContainsFunc(loop, func(x []float32) bool { return slices.ContainsFunc(x, sounds) })
}

// sums are sums of products over a loop: of what a straight path through the
// medium gives, of what the medium gives, and of the two.
type sums struct{ through, real, both float64 }

func (s *sums) add(x, y float32) {
	s.through += float64(float64(x) * float64(x))
	s.real += float64(float64(y) * float64(y))
	s.both += float64(float64(x) * float64(y))
}

// clip takes one channel through the digital ceiling.
func (s *sums) clip(x []float32, gain float32) {
	for _, v := range x {
		v *= gain
		s.add(v, min(max(v, -1), 1))
	}
}

// tape takes one channel of a loop through a tape with and without its curve,
// from the loop's repeating state.
func (s *sums) tape(t *Tape, x []float32, gain float32, pause func()) {
	straight := *t
	straight.ideal = true
	real := *t
	var a, b [tapeBlock]float32
	const before = 256 // frames for the filters to settle
	for i := -before; i < len(x); i += tapeBlock {
		if pause != nil {
			pause()
		}
		n := min(tapeBlock, len(x)-i)
		for j := range n {
			k := i + j
			if k < 0 {
				k = (k%len(x) + len(x)) % len(x)
			}
			a[j] = x[k] * gain
		}
		b = a
		straight.pass(&straight.sides[0], a[:n])
		real.pass(&real.sides[0], b[:n])
		if i < 0 {
			continue
		}
		for j := range n {
			s.add(a[j], b[j])
		}
	}
}
