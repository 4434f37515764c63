package meter

import (
	"sync"

	"slowneedle/audio"
)

// ReadLoop reads one channel of a loop in its repeating state: as if it had gone
// round for ever. The reading is that of Reader, over one turn. The course of the
// needle is cut at its lowest point, so that no swing is counted twice and it does
// not matter where the loop begins. An empty loop reads as silence.
//
// The movement is linear, so the state it repeats is found exactly: from the state
// one turn ends in after starting at rest. Long loops are rectified on two cores.
func ReadLoop(x []float32, rate int) Passage {
	rate = max(rate, 1)
	course := make([]float64, (len(x)+chunk-1)/chunk)
	var peak SamplePeak
	peak.Process(x)
	tp := rectifyLoop(x, rate, course)

	s := swings{perSecond: stepsPerSecond(rate)}
	if len(x) > 0 {
		swingLoop(course, rate, len(x)%chunk)
		lowest := 0
		for i, p := range course {
			if p < course[lowest] {
				lowest = i
			}
		}
		s.edge = max(course[lowest], 0)
		for i := range course {
			s.step(course[(lowest+1+i)%len(course)])
		}
	}
	return Passage{
		Reading:    audio.DB(s.reading()),
		Max:        audio.DB(s.max),
		SamplePeak: peak.Level(),
		TruePeak:   audio.DB(float64(tp)),
	}
}

// swingLoop replaces what drives the needle in each chunk of a loop by where the
// needle stands at its end, in the repeating state. The last chunk has odd frames,
// unless odd is 0.
func swingLoop(course []float64, rate, odd int) {
	step := standard.over(chunk / float64(rate))
	last := step
	if odd > 0 {
		last = standard.over(float64(odd) / float64(rate))
	}
	turn := func(s state, keep bool) state {
		for i, u := range course {
			t := &step
			if i == len(course)-1 {
				t = &last
			}
			if s = s.step(t, u); keep {
				course[i] = s.p
			}
		}
		return s
	}
	// One turn takes a state s to m s + rest, so the repeating state solves
	// (1 - m) s = rest.
	rest := turn(state{}, false)
	m := step.power(len(course) - 1).then(last)
	det := (1-m.a)*(1-m.d) - m.b*m.c
	turn(state{
		p: ((1-m.d)*rest.p + m.b*rest.v) / det,
		v: (m.c*rest.p + (1-m.a)*rest.v) / det,
	}, true)
}

// rectifyLoop fills drives with what drives the needle in each chunk of a loop and
// returns the loop's true peak.
func rectifyLoop(x []float32, rate int, drives []float64) float32 {
	const twoFrom = 1024 // chunks worth a second goroutine
	if len(drives) < twoFrom {
		return rectifyPart(x, rate, drives, 0)
	}
	half := len(drives) / 2
	var second float32
	var wait sync.WaitGroup
	wait.Go(func() { second = rectifyPart(x, rate, drives[half:], half) })
	first := rectifyPart(x, rate, drives[:half], 0)
	wait.Wait()
	return max(first, second)
}

// rectifyPart does the same for the chunks that begin with chunk first.
func rectifyPart(x []float32, rate int, drives []float64, first int) (tp float32) {
	over := newOversampler(rate)
	for i := range drives {
		at := (first + i) * chunk
		over.around(x, at)
		if i == 0 {
			over.prime()
		}
		sum, peak := over.run()
		tp = over.truePeak(sum, peak, tp)
		frames := chunk
		if odd := len(x) - at; odd < chunk {
			frames = odd
			sum = 0
			var row [4 * chunk]float32
			for _, v := range over.inOrder(&row)[:odd*over.factor] {
				sum += abs32(v)
			}
		}
		drives[i] = drive(sum, frames*over.factor)
	}
	return tp
}

// around fills the chunk with the frames of a loop from at on, and what lies
// before and after them.
func (s *oversampler) around(loop []float32, at int) {
	from := at - lead
	if from >= 0 && from+len(s.x) <= len(loop) {
		copy(s.x[:], loop[from:])
		return
	}
	from = (from%len(loop) + len(loop)) % len(loop)
	for i := range s.x {
		s.x[i] = loop[from]
		if from++; from == len(loop) {
			from = 0
		}
	}
}
