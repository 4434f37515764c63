package drills

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"

	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// Drill is a kind of exercise.
type Drill struct {
	ID      string
	Name    string
	Explain [2]string // two lines for its first screen
	// Families are the kinds of source it is played on, each with a ladder of
	// its own.
	Families []source.Family
	// EitherMeter says that the programme meter may take the needle's place:
	// what is asked does not depend on which of the two is looked at.
	EitherMeter bool
	// NoError says that its verdicts have no error in dB, only right or wrong.
	NoError bool

	make func(*draft) (*Exercise, error)
}

// The drills.
const (
	LineUp    = "line-up"
	SetTake   = "take"
	LampCount = "lamp"
	CallUnder = "call"
	MatchEar  = "match"
	Ride      = "ride"
	WholeDesk = "desk"
	TrustIt   = "trust"
)

// Drills lists the drills in teaching order.
func Drills() []Drill {
	all := source.Generated()
	moving := without(all, source.Steady)
	return []Drill{
		{ID: LineUp, Name: "Line-up", Families: []source.Family{source.Steady}, EitherMeter: true, make: makeLineUp, Explain: [2]string{
			"Bring the tone to where it belongs: exactly to 0 VU, then both channels alike,",
			"then on a desk where 0 VU is another level, so that you work out the difference."}},
		{ID: SetTake, Name: "Set the take", Families: all, make: makeTake, Explain: [2]string{
			"A source at an unknown level: bring it up until needle and lamp say it is right.",
			"The needle sets the average, unless the peaks run out of headroom first."}},
		{ID: LampCount, Name: "Lamp count", Families: []source.Family{source.Plucked, source.Struck, source.Ensemble}, make: makeLamp, Explain: [2]string{
			"The needle is covered. Set the level for tape by the lamp alone:",
			"two or three short flashes in about three seconds are right, more is too hot."}},
		{ID: CallUnder, Name: "Call the under-read", Families: all, make: makeCall, Explain: [2]string{
			"The fader is fixed. From the VU reading, by ear and from what you know of the source,",
			"say how far above the needle its peaks run. Then the peak reading is revealed."}},
		{ID: MatchEar, Name: "Match by ear", Families: all, EitherMeter: true, make: makeMatch, Explain: [2]string{
			"Two to four sources: set them all as loud as the first.",
			"The needle is there at first, then covered: the ear has the last word."}},
		{ID: Ride, Name: "Ride it", Families: all, make: makeRide, Explain: [2]string{
			"The source's level wanders and jumps. Keep the needle where it belongs,",
			"as much of the time as you can, without running out of headroom."}},
		{ID: WholeDesk, Name: "The whole desk", Families: all, make: makeWhole, Explain: [2]string{
			"Four to eight channels against the clock: bring each to its target on the needle,",
			"and keep the mix bus below the ceiling."}},
		{ID: TrustIt, Name: "Trust the meter?", Families: moving, NoError: true, make: makeTrust, Explain: [2]string{
			"Two or three needles on the same source, and only one meets the standard:",
			"300 ms to rise, 1 to 1.5 % overshoot, and the same time to fall. Which one?"}},
	}
}

// DrillByID returns a drill; ok is false if there is none of that name.
func DrillByID(id string) (d Drill, ok bool) {
	for _, d := range Drills() {
		if d.ID == id {
			return d, true
		}
	}
	return Drill{}, false
}

func without(all []source.Family, f source.Family) []source.Family {
	return slices.DeleteFunc(slices.Clone(all), func(g source.Family) bool { return g == f })
}

// draft is what an exercise is drawn from.
type draft struct {
	seed     uint64
	index    int
	settings Settings // Family, Rig; spread, tolerance and difficulty are the level's
	params   ladder.Params
	level    int
	rng      *rand.Rand
	ex       *Exercise
}

// NewExercise makes the exercise of a drill that a seed, an index and a level
// of the ladder stand for. Of the settings, family, rig and tolerance count; the
// rest, and the tolerance if none is given, follows from the level. The family,
// if not given, takes turns over the drill's families as NewRound's does.
// Everything is drawn from PCG (seed, index) alone.
//
// The error says which argument cannot be used.
func NewExercise(id string, seed uint64, index, level int, s Settings) (*Exercise, error) {
	d, ok := DrillByID(id)
	if !ok {
		return nil, fmt.Errorf("drill: there is no drill %q; use one of %s", id, drillNames())
	}
	if index < 0 {
		return nil, fmt.Errorf("drill: index %d is negative; count from 0", index)
	}
	if level < ladder.Bottom || level > ladder.Top {
		return nil, fmt.Errorf("drill: there is no step %d; steps run from %d to %d", level, ladder.Bottom, ladder.Top)
	}
	if s.Family == "" {
		s.Family = drawFamily(d.Families, seed, index)
	}
	if !slices.Contains(d.Families, s.Family) {
		return nil, fmt.Errorf("drill: %q is not played on the family %q; use one of %v", d.Name, s.Family, d.Families)
	}
	p := ladder.At(level)
	s.Difficulty = p.Difficulty
	s.SpreadDB = min(2*p.StartSpreadDB, aimSpread)
	if s.ToleranceDB == 0 {
		s.ToleranceDB = p.ToleranceDB
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	p.ToleranceDB = s.ToleranceDB
	f := &draft{seed: seed, index: index, settings: s, params: p, level: level, rng: rand.New(rand.NewPCG(seed, uint64(index)))}
	f.ex = &Exercise{
		Drill: d, Seed: seed, Index: index, Level: level, Family: s.Family,
		Seconds: p.Seconds, ToleranceDB: p.ToleranceDB, View: View{NeedleSeconds: p.NeedleSeconds},
	}
	return d.make(f)
}

func drillNames() string {
	var names []string
	for _, d := range Drills() {
		names = append(names, d.ID)
	}
	return strings.Join(names, ", ")
}

// sound generates the next sound of a family.
func (f *draft) sound(family source.Family) (*source.Sound, level, error) {
	s, err := source.Generate(family, f.rng.Uint64(), f.settings.Difficulty)
	if err != nil {
		return nil, level{}, err
	}
	v, err := readLevel(s)
	return s, v, err
}

// strip draws where on the fader the aim of a channel lies.
func (f *draft) strip(label string) Strip {
	aim, w := f.settings.drawAim(f.rng), f.params.ToleranceDB
	return Strip{Label: label, FaderDB: desk.FaderMin, AimDB: aim, WindowDB: [2]float64{aim - w, aim + w}}
}

// atOnce does n things at the same time and returns the first error in order.
func atOnce(n int, do func(i int) error) error {
	errs := make([]error, n)
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { errs[i] = do(i) })
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// rig returns the rig asked for, or a digital one with 0 VU at -20 to -14 dBFS.
func (f *draft) rig(ceiling float64) Rig {
	reference := -20 + float64(f.rng.IntN(7))
	rig := digitalRig(reference, ceiling)
	if f.settings.Rig != nil {
		rig = *f.settings.Rig
	}
	rig.ToleranceDB = f.params.ToleranceDB
	return rig
}

// between draws a number in steps of 0.1.
func (f *draft) between(lo, hi float64) float64 { return step(lo + f.rng.Float64()*(hi-lo)) }
