package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts.
var (
	codeOddRight = reason("odd_right", "{part} was the odd one: {odd}.").headed("Right.")
	codeOddWrong = reason("odd_wrong", "You chose {chosen}, but {part} was the odd one: {odd}.").headed("Not that one.")
)

// OddKind is what is wrong with the odd one of three sounds.
type OddKind string

// The kinds. How much of one there is, is told in dB.
const (
	OddHiss  OddKind = "hiss"  // white noise, its loudness less the sound's
	OddGrit  OddKind = "grit"  // distortion of the third order, its RMS less the sound's
	OddClip  OddKind = "clip"  // by how much the highest peaks are cut off
	OddLevel OddKind = "level" // louder (positive) or softer than the others
)

// OddKinds lists the kinds in the order they are drawn from.
func OddKinds() []OddKind { return []OddKind{OddHiss, OddGrit, OddClip, OddLevel} }

// Figures of the odd one.
const (
	oddSounds   = 3
	oddLoudness = -26.0 // LUFS at which all are played, less where their peaks have no room
	oddRoom     = 3.0   // dB that their peaks stay below full scale
)

// OddAmount is how much of a kind there is in the odd one at a step of the ladder, in
// dB to a tenth; of a level, how far it is off. It runs from what everybody hears to
// what hardly anybody does. Off the ladder it is that of step 12.
func OddAmount(kind OddKind, level int) float64 {
	n := float64(level - 1)
	if level == 0 {
		n = 11
	}
	o := odds[kind]
	return step(o.from*math.Pow(o.times, n) - o.less*n)
}

// oddRule judges which of three sounds was chosen.
type oddRule struct {
	kind  OddKind
	db    float64
	right int
}

// drawOdd draws the kind, which of the three is the odd one, and of a level whether
// it is louder or softer.
func (f *draft) drawOdd() oddRule {
	all := OddKinds()
	x := oddRule{kind: all[f.rng.IntN(len(all))], right: f.rng.IntN(oddSounds)}
	x.db = OddAmount(x.kind, f.level)
	if softer := f.rng.IntN(2) == 1; softer && x.kind == OddLevel {
		x.db = -x.db
	}
	return x
}

// odd is how much of a kind there is, and what is said of it.
type odd struct {
	from                   float64 // dB at the first step (our own figures, as the two that follow)
	times, less            float64 // from step to step it is multiplied by times and made less by so many dB
	task, solution, figure said.Sentence
}

var odds = map[OddKind]odd{
	OddHiss: {-24, 1, 1.5, said.New("task.odd_hiss", "Three sounds, two of them alike. Which one has hiss in it?"),
		said.New("solution.odd_hiss", "Hiss is heard first where the sound is softest: in the pauses, and as notes die away."),
		said.New("figure.odd_hiss", "hiss")},
	OddGrit: {-16, 1, 1.5, said.New("task.odd_grit", "Three sounds, two of them alike. Which one has grit in it?"),
		said.New("solution.odd_grit", "Grit is heard first on long loud notes, which turn rough and bright."),
		said.New("figure.odd_grit", "grit")},
	OddClip: {12, 0.88, 0, said.New("task.odd_clip", "Three sounds, two of them alike. Which one is clipped?"),
		said.New("solution.odd_clip", "Clipping is heard first on the hardest strokes and syllables, which crackle and lose their edge."),
		said.New("figure.odd_clip", "clipped by")},
	OddLevel: {6, 0.9, 0, said.New("task.odd_level", "Three sounds, two of them alike. Which one has another level?"),
		said.New("solution.odd_level", "A level is compared best on the same moment of the sound: switch while it goes on."),
		said.New("figure.odd_level", "level")},
}

// makeOdd draws what drawOdd does, the sound's seed, that of the noise, and the rig.
// All three are as loud as each other by ITU-R BS.1770-5, unless their level is the
// question, and in step, so that the ear can switch in mid-phrase.
func makeOdd(f *draft) error { return oddOf(f, f.drawOdd()) }

// oddOf is makeOdd with what drawOdd drew.
func oddOf(f *draft, x oddRule) error {
	e := f.ex
	clean, err := f.generate(0, f.settings.Family, f.rng.Uint64())
	if err != nil {
		return err
	}
	noise := f.rng.Uint64()
	e.Rig = f.digital()
	marred := clean
	if x.kind != OddLevel {
		if marred, err = f.mar(clean, x.kind, x.db, noise); err != nil {
			return err
		}
	}
	loud, err := f.loudness(clean)
	if err != nil {
		return err
	}
	loudOdd, err := f.loudness(marred)
	if err != nil {
		return err
	}
	if x.kind == OddLevel {
		loudOdd -= x.db
	}
	top := func(s *source.Sound) float64 { return audio.DB(float64(f.highest(s, 0))) }
	target := min(oddLoudness, loud-top(clean)-oddRoom, loudOdd-top(marred)-oddRoom)
	for i := range oddSounds {
		c := Channel{Label: needleName(i), Sound: clean, Fixed: true, StartGainDB: target - loud}
		if i == x.right {
			c.Sound, c.StartGainDB = marred, target-loudOdd
		}
		e.Channels = append(e.Channels, c)
		e.Ask.Choices = append(e.Ask.Choices, c.Label)
	}
	e.View = View{Listen: true, OneAtATime: true, NeedleCovered: true, LampCovered: true, TargetCovered: true}
	e.Ask.Text, e.Ask.right.Choice = "Which one is the odd one?", &x.right
	e.Task, e.Solution = odds[x.kind].task, odds[x.kind].solution
	e.rule = x
	return nil
}

// mar returns a sound with an amount in dB of hiss, grit or clipping in it. The noise
// is drawn from a seed. What grit and clipping add beyond half the sample rate
// comes back below it, as in a converter without oversampling.
func (f *draft) mar(s *source.Sound, kind OddKind, db float64, seed uint64) (*source.Sound, error) {
	marred := *s
	marred.Channels = nil
	for _, x := range s.Channels {
		marred.Channels = append(marred.Channels, make([]float32, len(x)))
	}
	switch kind {
	case OddHiss:
		noise := source.White(seed, s.Len(), len(s.Channels))
		own, err := f.loudness(noise)
		if err != nil {
			return nil, err
		}
		loud, err := f.loudness(s)
		if err != nil {
			return nil, err
		}
		g := float32(audio.Gain(loud + db - own))
		for c, y := range marred.Channels {
			f.pause()
			for i, v := range s.Channels[c] {
				y[i] = v + float32(g*noise.Channels[c][i])
			}
		}
	case OddGrit:
		f.grit(marred.Channels, s, db)
	case OddClip:
		limit := float32(audio.Gain(-db)) * f.highest(s, 0)
		for c, y := range marred.Channels {
			for i, v := range s.Channels[c] {
				y[i] = max(-limit, min(limit, v))
			}
		}
	}
	return &marred, nil
}

// grit fills to with a sound and its cube, of which what is like the sound itself is
// taken out, so that what is added is distortion alone, as far below the sound as dB
// tells.
func (f *draft) grit(to [][]float32, s *source.Sound, db float64) {
	cube := func(v float32) float64 { x := float64(v); return float64(x * x * x) }
	var own, both, all float64 // sums of the products: sound, sound with cube, cube
	for _, x := range s.Channels {
		f.pause()
		for _, v := range x {
			k := cube(v)
			own += float64(v) * float64(v)
			both += float64(float64(v) * k)
			all += float64(k * k)
		}
	}
	alike := both / own
	rest := all - float64(alike*both) // of the cube, once what is alike is out
	g := audio.Gain(db) * math.Sqrt(own/rest)
	for c, y := range to {
		f.pause()
		for i, v := range s.Channels[c] {
			y[i] = v + float32(g*(cube(v)-float64(alike*float64(v))))
		}
	}
}

func (x oddRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := e.chosen(t, codeOddRight, codeOddWrong)
	v.Odd, v.OddDB = x.kind, x.db
	return v, nil
}

func (x oddRule) figures(_ *Exercise, v Verdict) []Figure {
	return []Figure{
		{Name: said.New("figure.odd", "odd one"), Text: said.New("figure.odd_one", "sound %s", v.Part), Tone: ToneGood},
		{Name: odds[x.kind].figure, Value: v.OddDB, Unit: UnitDB, Signed: x.kind != OddClip, Decimals: 1},
	}
}
