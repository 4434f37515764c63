package meter

import (
	"math"

	"slowneedle/audio"
)

// ReadLoop reads one channel of a loop in its repeating state: as if it had gone
// round for ever. The reading is that of Reader, over one turn. The course of the
// needle is cut at its lowest point, so that no swing is counted twice and it does
// not matter where the loop begins. An empty loop reads as silence.
//
// The movement is linear, so the state it repeats is found exactly: from the state
// one turn ends in after starting at rest.
func ReadLoop(x []float32, rate int) Passage { return ReadLoopInSlices(x, rate, nil) }

// ReadLoopInSlices is ReadLoop for programs that must not be held up: if pause is not nil
// it is called between slices of the work.
func ReadLoopInSlices(x []float32, rate int, pause func()) Passage {
	rate = max(rate, 1)
	if pause == nil {
		pause = func() {}
	}
	var peak SamplePeak
	peak.Process(x)
	course := make([]float64, (len(x)+blockFrames-1)/blockFrames)
	seconds, last := blockFrames/float64(rate), blockFrames/float64(rate)
	if odd := len(x) % blockFrames; odd > 0 {
		last = float64(odd) / float64(rate)
	}
	constants := make([]float64, len(course))
	sum := 0.0
	for i := range constants {
		part := x[i*blockFrames : min((i+1)*blockFrames, len(x))]
		plain := finite(float32(total(part)))
		sum += plain
		constants[i] = plain / float64(len(part))
	}
	for range 2 {
		lowPassLoop(constants, followOver(seconds), followOver(last))
	}
	pause()
	tp := rectifyLoop(x, constants, course, pause)
	reading := readCourse(course, seconds, last)
	highest := 0.0
	for _, p := range course {
		highest = max(highest, p)
	}
	return Passage{
		Reading:    audio.DB(reading),
		Max:        audio.DB(highest),
		SamplePeak: peak.Level(),
		TruePeak:   audio.DB(float64(tp)),
		Constant:   sum / float64(max(len(x), 1)),
	}
}

// ReadMeans returns the reading of a loop, in its repeating state as ReadLoop has
// it, of which only the mean magnitude in each step of so many seconds is known: as
// the peak of a sine that reads the same, 0 for silence. Where the needle then
// stands at the end of each step takes the place of the means.
func ReadMeans(means []float64, seconds float64) float64 {
	for i := range means {
		means[i] *= formFactor
	}
	return readCourse(means, seconds, seconds)
}

// readCourse replaces what drives the needle in each step of a loop by where it
// stands at its end, in the repeating state, and returns the reading. The last step
// has a length of its own; both are in seconds.
func readCourse(course []float64, seconds, last float64) float64 {
	if len(course) == 0 {
		return 0
	}
	runLoop(course, Standard.Over(seconds), Standard.Over(last))
	lowest := 0
	for i, p := range course {
		if p < course[lowest] {
			lowest = i
		}
	}
	s := swings{perSecond: 1 / seconds, up: true, edge: max(course[lowest], 0)}
	for i := range course {
		s.step(course[(lowest+1+i)%len(course)])
	}
	return s.reading()
}

// runLoop runs the needle over a loop; see readCourse.
func runLoop(course []float64, step, last Transition) {
	turn := func(s State, keep bool) State {
		for i, u := range course {
			t := &step
			if i == len(course)-1 {
				t = &last
			}
			if s = s.Step(t, u); keep {
				course[i] = s.P
			}
		}
		return s
	}
	// One turn takes a state s to m s + rest, so the repeating state solves
	// (1 - m) s = rest.
	rest := turn(State{}, false)
	m := step.power(len(course) - 1).then(last)
	det := float64((1-m.a)*(1-m.d)) - float64(m.b*m.c)
	turn(State{
		P: (float64((1-m.d)*rest.P) + float64(m.b*rest.V)) / det,
		V: (float64(m.c*rest.P) + float64((1-m.a)*rest.V)) / det,
	}, true)
}

// lowPassLoop replaces the values of a loop by what a low-pass of the first order
// holds of them at the beginning of each, in its repeating state. The last value
// takes over a share of its own.
func lowPassLoop(values []float64, share, last float64) {
	turn := func(y float64, keep bool) float64 {
		for i, v := range values {
			k := share
			if i == len(values)-1 {
				k = last
			}
			if keep {
				values[i] = y
			}
			y += float64(k * (v - y))
		}
		return y
	}
	left := (1 - last) * math.Pow(1-share, float64(len(values)-1)) // of what it held, after a turn
	turn(turn(0, false)/(1-left), true)
}

// rectifyLoop fills drives with what drives the needle in each block of a loop, the
// constants taken out, and returns the loop's true peak. It calls pause between slices.
func rectifyLoop(x []float32, constants, drives []float64, pause func()) (tp float32) {
	const slice = 1 << 15 / blockFrames // blocks between two pauses
	var over oversampler
	for i := range drives {
		at := i * blockFrames
		over.around(x, at)
		if i == 0 {
			over.prime()
		}
		constant := float32(constants[i])
		s := over.run(constant)
		tp = over.truePeak(s, tp)
		frames := blockFrames
		if odd := len(x) - at; odd < blockFrames {
			frames = odd
			s.magnitude = 0
			row := over.inOrder()
			for _, v := range row[:odd*oversampling] {
				s.magnitude += abs32(v - constant)
			}
		}
		drives[i] = drive(s.magnitude, frames*oversampling)
		if i%slice == slice-1 {
			pause()
		}
	}
	return tp
}

// around fills the block with the frames of a loop from at on, and what lies
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
