package drills

import (
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// onTape stands behind a reason where the lamp of the mix bus is the limit.
const onTape = "_tape"

// The reasons of its verdicts.
var (
	codeDeskIn = reason("desk_in", "Every channel is within {error} dB of its target, and the mix bus stays {room} dB below the ceiling.").headed("All channels in the window.").
			with(onTape, "Every channel is within {error} dB of its target, and the peaks of the mix bus stay {room} dB below the lamp's threshold.")
	codeDeskHot  = reason("desk_hot", "Furthest off is {part}, at {reading} VU; the target was {asked} VU.")
	codeDeskCold = reason("desk_cold", "Furthest off is {part}, at {reading} VU; the target was {asked} VU.")
	codeDeskOver = reason("desk_over", "Every channel is right on its own, but the mix bus goes {room} dB over the ceiling: many small excesses add up.").headed("The mix bus is too hot.").
			with(onTape, "Every channel is right on its own, but the peaks of the mix bus go {room} dB over the lamp's threshold: many small excesses add up.")
	// a channel is too hot, and the mix bus over the ceiling
	codeDeskHotOver = reason("desk_hot_over", "Furthest off is {part}, at {reading} VU where the target was {asked} VU, and the mix bus goes {room} dB over the ceiling.").headed("The mix bus is too hot.").
			with(onTape, "Furthest off is {part}, at {reading} VU where the target was {asked} VU, and the peaks of the mix bus go {room} dB over the lamp's threshold.")
)

// Figures of the whole desk.
const (
	wholeSix   = 7   // level of the ladder from which there are six channels
	wholeEight = 13  // and eight
	wholeSum   = 30  // seconds of the sum that are judged
	wholeLeast = -20 // VU, the lowest target: the first mark of the scale
)

// wholeRule judges every channel's reading and the peak of the sum.
type wholeRule struct{ mix *mix }

// makeWhole draws the rig, unless one is asked for; then for each channel its
// family (the first is of the one the exercise counts on), its seed, and where on
// the fader its aim lies. Every channel belongs at the target less 10 log10 of
// their number, which is what sources that have nothing to do with each other add
// up to, or lower by whole decibels, so that with every channel at its window's
// top the peaks of the sum over the first 30 s stay below the ceiling, where its
// lamp lights. What would be lower than -20 VU, as the rig's headroom goes, is
// drawn again on the rig with the most headroom; where that is not enough either,
// or a rig was asked for, the ceiling is higher instead.
func makeWhole(f *draft) error {
	e := f.ex
	n := 4 + 2*f.reached(wholeSix, wholeEight)
	e.Rig = f.rig()
	err := f.several(n, e.Drill.Families, 0, func(i int, s *Channel, family source.Family, seed uint64) (err error) {
		if s.Sound, err = f.generate(i, family, seed); err != nil {
			return err
		}
		v, err := f.read(s.Sound)
		s.StartGainDB = -v.reading - s.AimDB // for a reading of 0 dBFS
		return err
	})
	if err != nil {
		return err
	}
	nameChannels(e.Channels)
	f.pause()
	sum := newMix(e.Channels, f.pause)
	peak, _ := sum.peak(float32(math.Inf(1)), func(i int) float64 { return e.Channels[i].StartGainDB + e.Channels[i].AimDB })
	// The highest reading in dBFS, the same for all channels, that leaves room.
	highest := e.Rig.CeilingDBFS - e.Rig.ToleranceDB - peak
	if f.settings.Rig == nil && highest-e.Rig.ReferenceDBFS < wholeLeast {
		e.Rig = digitalRig(digitalRigs()[0].ReferenceDBFS, -1)
		e.Rig.ToleranceDB = f.params.ToleranceDB
		highest = e.Rig.CeilingDBFS - e.Rig.ToleranceDB - peak
	}
	target := math.Round(e.Rig.TargetVU - 10*math.Log10(float64(n)))
	target = max(min(target, math.Floor(highest-e.Rig.ReferenceDBFS)), wholeLeast)
	for i := range e.Channels {
		e.Channels[i].StartGainDB += target + e.Rig.ReferenceDBFS
	}
	peak += target + e.Rig.ReferenceDBFS
	e.Rig.CeilingDBFS = max(e.Rig.CeilingDBFS, math.Ceil(10*(peak+e.Rig.ToleranceDB))/10)
	e.Rig.LampDBFS = e.Rig.CeilingDBFS
	e.Rig.TargetVU = target
	if err := e.Rig.Validate(); err != nil {
		return err
	}
	e.View.PerChannel, e.View.Listen = true, true
	e.View.NeedleSeconds = 0
	e.Seconds = float64(n) * max(15-0.4*float64(f.level), 5)
	e.Task = said.New("task.desk", "Set each of the %d channels to %s VU, and keep the mix bus below %s dBFS, so that its lamp stays dark.",
		n, brief(target), brief(e.Rig.CeilingDBFS))
	e.Solution = said.New("solution.desk", "%d channels at %s VU each put peaks of %s dBFS on the mix bus.", n, brief(target), signed(peak, 1))
	if e.Rig.Soft() {
		e.Task = said.New("task.desk_tape", "Set each of the %d channels to %s VU, and keep the lamp of the mix bus dark: it lights at peaks of %s VU.",
			n, brief(target), brief(e.Rig.LampDBFS-e.Rig.ReferenceDBFS))
		e.Solution = said.New("solution.desk_tape", "%d channels at %s VU each put peaks of %s VU on the mix bus.", n, brief(target), signed(peak-e.Rig.ReferenceDBFS, 1))
	}
	e.rule = wholeRule{sum}
	return nil
}

// mix finds the highest sample of the sum of loops at any gains without summing
// all of it. It knows the highest sample in each block of each loop, and begins where these
// could add up to most: what cannot reach what was found is passed over.
type mix struct {
	sides [][][]float32 // of each sound; one if all have one channel
	tops  [][][]float32 // the highest sample of each block of these
	pause func()        // called between slices of the work
}

// mixBlock is the length of a block in samples, mixSlice how many are summed between two
// pauses.
const (
	mixBlock = 64
	mixSlice = 2000
)

func newMix(channels []Channel, pause func()) *mix {
	sides := 1
	for _, s := range channels {
		sides = max(sides, len(s.Sound.Channels))
	}
	m := &mix{make([][][]float32, sides), make([][][]float32, sides), pause}
	for _, s := range channels {
		var tops [][]float32
		for _, x := range s.Sound.Channels {
			pause()
			var of []float32
			for block := range slices.Chunk(x, mixBlock) {
				of = append(of, meter.Loudest(block))
			}
			tops = append(tops, of)
		}
		for side := range m.sides {
			k := min(side, len(tops)-1)
			m.sides[side] = append(m.sides[side], s.Sound.Channels[k])
			m.tops[side] = append(m.tops[side], tops[k])
		}
	}
	return m
}

// bound is what the sum from a sample on, over the length of a block, cannot
// exceed.
func (m *mix) bound(side, from int, gains []float32) float32 {
	sum := float32(0)
	for i, tops := range m.tops[side] {
		n := len(m.sides[side][i])
		at := from % n
		k, more := at/mixBlock, min(at%mixBlock, 1)
		if at+mixBlock > n {
			more = 2 // past the end of the loop
		}
		top := tops[k]
		for range more {
			if k++; k == len(tops) {
				k = 0
			}
			if tops[k] > top {
				top = tops[k]
			}
		}
		sum += gains[i] * top
	}
	return sum
}

// peak returns the highest peak of the first 30 s of the sum in dBFS, with each
// sound at a gain, and how many samples reach the full scale of a medium on the side
// that has more of them; one without, which is quicker, has infinity.
func (m *mix) peak(full float32, gainDB func(i int) float64) (peakDBFS float64, clipped int64) {
	gains := make([]float32, len(m.sides[0]))
	for i := range gains {
		gains[i] = float32(audio.Gain(gainDB(i)))
	}
	bounds := make([]float32, wholeSum*audio.Rate/mixBlock)
	peak := float32(0)
	for side := range m.sides {
		m.pause()
		highest := 0
		for i := range bounds {
			if bounds[i] = m.bound(side, i*mixBlock, gains) * mixMargin; bounds[i] > bounds[highest] {
				highest = i
			}
		}
		var over int64
		summed := 0
		for n := range bounds {
			i := (highest + n) % len(bounds)
			if bounds[i] < min(peak, full) {
				continue
			}
			if summed++; summed%mixSlice == 0 {
				m.pause()
			}
			var block [mixBlock]float32
			for k, x := range m.sides[side] {
				add(block[:], x, i*mixBlock, gains[k])
			}
			for _, v := range block {
				if v < 0 {
					v = -v
				}
				if v > peak {
					peak = v
				}
				if v >= full {
					over++
				}
			}
		}
		clipped = max(clipped, over)
	}
	return audio.DB(float64(peak)), clipped
}

// mixMargin covers what rounding does to a sum of eight.
const mixMargin = 1.0001

// add adds a loop, over and over, to a stretch that begins at a sample.
func add(to, loop []float32, from int, gain float32) {
	for at := from % len(loop); len(to) > 0; at = 0 {
		x := loop[at:min(at+len(to), len(loop))]
		part := to[:len(x)]
		for i, v := range x {
			part[i] += float32(gain * v)
		}
		to = to[len(x):]
	}
}

// verdict: right if every channel is in its window and the sum's peak over 30 s
// is not above the ceiling. The points are the channels' mean, halved with
// every 2 dB of the sum above the ceiling; nothing if it clips.
func (x wholeRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := e.overall(t)
	peak, clipped := x.mix.peak(1, func(i int) float64 { return e.Channels[i].StartGainDB + e.Setting(t, i) })
	v.HeadroomDB = e.Rig.CeilingDBFS - peak
	v.AimVU, v.ReadingVU = e.Rig.TargetVU, e.Rig.TargetVU+v.ErrorDB
	v.DecidedBy = ByNeedle
	if !e.Rig.Soft() {
		v.Clipped = clipped
	}
	over := max(step(-v.HeadroomDB), 0)
	v.Points = int(math.Round(float64(v.Points*Points(over, v.Clipped > 0)) / 100))
	channels := v.InWindow // all of them
	v.InWindow = channels && over == 0
	v.Code = sided(codeDeskIn, codeDeskHot, codeDeskCold, v)
	switch {
	case channels && over > 0:
		v.Code, v.DecidedBy = codeDeskOver, ByPeaks
	case over > 0:
		v.Code = codeDeskHotOver
	}
	if e.Rig.Soft() && (v.Code == codeDeskIn || over > 0) {
		v.Code += onTape
	}
	return v, nil
}

func (wholeRule) figures(_ *Exercise, v Verdict) []Figure {
	list := []Figure{errorFigure(v), askedFigure(v), headroomFigure(v)}
	if v.Clipped > 0 {
		list = append(list, clippedFigure(v))
	}
	return list
}
