package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// The reasons of its verdicts.
var (
	codeTrustRight = reason("trust_right", "Needle {part} meets the standard; {faults}.").headed("Right.")
	codeTrustWrong = reason("trust_wrong", "You chose {chosen}, but {faults}; needle {part} meets the standard.").headed("Not that one.")
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
func makeTrust(f *draft) error {
	e := f.ex
	sound, v, err := f.sound()
	if err != nil {
		return err
	}
	if f.level <= trustSounds && !f.own() {
		if sound, v, err = f.switched(); err != nil {
			return err
		}
	}
	e.Rig = f.rig()
	reading := f.between(-4, 0)
	gain := reading + e.Rig.ReferenceDBFS - v.reading
	e.Channels = []Channel{{Label: "A", Sound: sound, Fixed: true, StartGainDB: gain}}
	n := 2 + f.reached(trustThree)
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
	e.Task = said.New("task.trust", "The needles show the same source, and only one of them meets the standard: 300 ms to rise, a trace of overshoot, and the same time to fall. Which one?")
	e.Ask.right.Choice = &right
	e.Ask.Text = "Which needle meets the standard?"
	e.Solution = said.New("solution.trust", "Needle %s meets the standard: 99 %% of its final reading after 300 ms, then 1 to 1.5 %% overshoot (IEC 60268-17).", needleName(right))
	e.rule = x
	return nil
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

func (x trustRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := e.chosen(t, codeTrustRight, codeTrustWrong)
	copy(v.Faults[:], x.faults)
	return v, nil
}

func (trustRule) figures(_ *Exercise, v Verdict) []Figure {
	return []Figure{{Name: said.New("figure.right", "correct needle"), Text: said.New("figure.right_one", "needle %s", v.Part), Tone: ToneGood}}
}

// Fault is what is wrong with a needle.
type Fault string

// The faults a needle can have; an empty Fault is a needle that keeps the
// standard.
const (
	FaultSlow  Fault = "slow"  // rises too slowly
	FaultOver  Fault = "over"  // swings too far beyond
	FaultPeaks Fault = "peaks" // reads peaks instead of the average
	FaultHangs Fault = "hangs" // falls too slowly
)

// movement is a needle's movement with faults. All read a sine as the
// standard's does once they have settled.
type movement struct {
	meter.Movement
	peaks float64 // how much of the drive is the peak, 0 to 1, in place of the average
	hang  float64 // time constant of the slowest fall, s; 0 falls as it rises
}

// faulty returns the movement with a fault, from strong (0) to slight (1).
func faulty(f Fault, slight float64) movement {
	between := func(strong, weak float64) float64 { return strong + (weak-strong)*slight }
	m := movement{Movement: meter.Standard}
	switch f {
	case FaultSlow:
		m.W /= between(3.5, 1.6) // 99 % after 1050 to 480 ms
	case FaultOver:
		m.Zeta = between(0.25, 0.55) // 44 to 13 % beyond
	case FaultPeaks:
		m.peaks = between(1, 0.5)
	case FaultHangs:
		m.hang = between(2.5, 0.8)
	}
	return m
}

// tick is the step in which movements are computed, in frames: 1 ms.
const tick = audio.Rate / 1000

// traceEvery is the distance of a trace's points in frames: 10 ms.
const traceEvery = audio.Rate / 100

// peakFall is how fast a peak reading falls: 20 dB in 1.7 s, as a programme
// meter's (IEC 60268-10).
var peakFall = math.Pow(10, -0.001/1.7)

// trace returns the needle's position, linear in amplitude, every 10 ms over
// two turns of a loop, from rest. The input's level is changed by gain.
func (m movement) trace(loop []float32, gain float64) []float32 {
	const dt = 0.001
	step := m.Over(dt)
	hang := 0.0
	if m.hang > 0 {
		hang = math.Exp(-dt / m.hang)
	}
	n := 2 * len(loop)
	out := make([]float32, 0, n/traceEvery+1)
	var needle meter.State
	var peak float64
	for at := 0; at < n; at += tick {
		if at%traceEvery == 0 {
			out = append(out, float32(needle.P))
		}
		sum, top := 0.0, 0.0
		for i := at; i < at+tick; i++ {
			x := math.Abs(float64(loop[i%len(loop)])) * gain
			sum += x
			top = max(top, x)
		}
		peak = max(peak*peakFall, top)
		drive := (1-m.peaks)*math.Pi/2*sum/tick + m.peaks*peak
		least := needle.P * hang
		if needle = needle.Step(&step, drive); needle.P < least {
			needle = meter.State{P: least}
		}
	}
	return out
}

// standardTrace is trace for the standard's needle, by the meter itself.
func standardTrace(loop []float32, gain float64) []float32 {
	needle := meter.NewNeedle(audio.Rate)
	n := 2 * len(loop)
	out := make([]float32, 0, n/traceEvery+1)
	block := make([]float32, traceEvery)
	for at := 0; at < n; at += traceEvery {
		out = append(out, float32(needle.Position()))
		for i := range block {
			block[i] = loop[(at+i)%len(loop)] * float32(gain)
		}
		needle.Process(block)
	}
	return out
}
