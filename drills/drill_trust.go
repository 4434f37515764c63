package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// Levels of the ladder at which the drill changes.
const (
	trustThree  = 5 // from here on three needles
	trustSounds = 4 // up to here a tone that is switched on and off, on which it shows best
)

// trustRule judges which needle was chosen.
type trustRule struct {
	faults []Fault     // of each needle, empty for the one to be trusted
	slight float64     // of the faults
	traces [][]float32 // positions every 10 ms over two turns of the loop
	frames int         // of the loop
}

// makeTrust draws the sound's seed, the rig, the highest reading on the
// scale, which needle is right and the faults of the others. Faults go from
// strong at level 1 to slight at the top of the ladder. Up to level 4 the sound
// is a tone that is switched on and off, unless it is a recording.
func makeTrust(f *draft) (*Exercise, error) {
	e := f.ex
	sound, v, err := f.sound()
	if err != nil {
		return nil, err
	}
	if f.level <= trustSounds && !f.own() {
		if sound, v, err = f.switched(); err != nil {
			return nil, err
		}
	}
	e.Rig = f.rig()
	reading := f.between(-4, 0)
	gain := reading + e.Rig.ReferenceDBFS - v.reading
	e.Channels = []Channel{{Label: "A", Sound: sound, Fixed: true, StartGainDB: gain}}
	n := 2
	if f.level >= trustThree {
		n++
	}
	x := trustRule{
		faults: make([]Fault, n), frames: sound.Len(),
		slight: float64(f.level-ladder.Bottom) / (ladder.Top - ladder.Bottom),
	}
	right := f.rng.IntN(n)
	kinds := []Fault{FaultSlow, FaultOver, FaultPeaks, FaultHangs}
	f.rng.Shuffle(len(kinds), func(i, j int) { kinds[i], kinds[j] = kinds[j], kinds[i] })
	for i := range n {
		f.pause()
		e.Ask.Choices = append(e.Ask.Choices, needleName(i))
		if i == right {
			x.traces = append(x.traces, standardTrace(sound.Channels[0], audio.Gain(gain)))
			continue
		}
		x.faults[i] = kinds[i]
		x.traces = append(x.traces, faulty(kinds[i], x.slight).trace(sound.Channels[0], audio.Gain(gain)))
	}
	e.View = View{Needles: n, LampCovered: true}
	e.Task = said.New("task.trust", "%d needles on the same source, and one meets the standard: 300 ms to rise, a trace of overshoot, and the same time to fall. Which one?", n)
	e.Ask.Text = "Which needle meets the standard?"
	e.Solution = said.New("solution.trust", "Needle %s meets the standard: 99 %% of its final reading after 300 ms, then 1 to 1.5 %% overshoot (IEC 60268-17).", needleName(right))
	e.rule = x
	return e, nil
}

func needleName(i int) string { return string(rune('A' + i)) }

// switched makes a tone of 1 kHz that is on for a second and off for a second,
// 12 s in all.
func (f *draft) switched() (*source.Sound, level, error) {
	x := make([]float32, 12*audio.Rate)
	tone := source.LineUp(-6).Channels[0]
	const edge = audio.Rate / 500 // 2 ms, without a click
	for from := 0; from < len(x); from += 2 * audio.Rate {
		copy(x[from:from+audio.Rate], tone)
		for i := range edge {
			g := float32(i) / edge
			x[from+i] *= g
			x[from+audio.Rate-1-i] *= g
		}
	}
	s := &source.Sound{Family: source.Steady, Kind: "tone, switched on and off", Channels: [][]float32{x}}
	v, err := f.read(s)
	return s, v, err
}

// NeedleAt returns the level that one of the exercise's own needles shows at a
// position in frames from the start, in dBFS as desk.Snapshot's, -Inf at rest.
// There are View.Needles of them, in the order of Ask.Choices. It may be asked
// for any position in any order.
func (e *Exercise) NeedleAt(needle int, at int64) float64 {
	x, ok := e.rule.(trustRule)
	if !ok || needle < 0 || needle >= len(x.traces) || at < 0 {
		return math.Inf(-1)
	}
	if turn := int64(x.frames); at >= 2*turn {
		at = turn + (at-turn)%turn
	}
	trace := x.traces[needle]
	return audio.DB(float64(trace[min(int(at/traceEvery), len(trace)-1)]))
}

// verdict: the right needle is worth 100 points, another none.
func (x trustRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := Verdict{Chosen: needleName(*t.Choice), Code: CodeTrustWrong}
	copy(v.Faults[:], x.faults)
	for i, f := range x.faults {
		if f == "" {
			v.Part = needleName(i)
		}
	}
	if v.Chosen == v.Part {
		v.InWindow, v.Points, v.Code = true, 100, CodeTrustRight
	}
	return v, nil
}

func (x trustRule) show(e *Exercise) Take {
	for i, f := range x.faults {
		if f == "" {
			return e.inTime(Take{LockAt: 10 * audio.Rate, Choice: &i})
		}
	}
	return Take{}
}

func (trustRule) figures(_ *Exercise, v Verdict) []Figure {
	return []Figure{{Name: said.New("figure.right", "correct needle"), Text: said.New("figure.right_one", "needle %s", v.Part), Tone: ToneGood}}
}
