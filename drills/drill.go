// Package drills knows what a round asks for, what a take answered, and what
// the verdict on it is. It knows no screen and no device.
//
// A round is entirely determined by its seed, index, level and settings; a verdict
// by its round and take. Levels agree on every platform to 0.01 dB.
package drills

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// Drill is a kind of exercise.
type Drill struct {
	ID   string
	Name string
	// Families are the kinds of source it is played on, each with a ladder of
	// its own.
	Families []source.Family
	// EitherMeter means that the programme meter may take the needle's place:
	// what is asked does not depend on which of the two is looked at.
	EitherMeter bool
	// NoError is set where verdicts have no error in dB, only right or wrong.
	NoError bool
	// Records is set where one source is recorded through the rig's medium: the
	// take has a Damage, and can be heard beside the aim.
	Records bool
	// FixedLength is set where the exercise runs for the drill's own Seconds whatever the
	// learner does, FixedCover where the drill has which meters are covered when.
	FixedLength, FixedCover bool
	// TapeOnly is set where no other medium than tape makes sense.
	TapeOnly bool

	make func(*draft) error
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

	Soundcheck = "soundcheck"
	Chain      = "chain"
	OddOne     = "odd-one"
	Alignment  = "alignment"
)

// Standard is the drill that is played where none is asked for.
const Standard = SetTake

// Settings narrow what an exercise may be; the zero value draws everything.
type Settings struct {
	Family source.Family `json:"family,omitempty"`
	Rig    *Rig          `json:"rig,omitempty"`
	// ToleranceDB takes the place of the level's tolerance; 0 leaves that.
	ToleranceDB float64 `json:"tolerance_db,omitempty"`
	// Reserved is set in the rounds of test forms: generated sounds are of the kinds
	// that are kept for these alone.
	Reserved bool `json:"reserved,omitempty"`
	// Passages, of recordings of the learner's own, take the place of generated
	// sounds; the family is source.Own. Several recordings take turns, and a seed
	// stands for a passage of the one whose turn it is. See Drill.OnRecordings. Unless
	// there is a Pause it may be called by several goroutines at once.
	Passages func(turn int, seed uint64) (*source.Sound, error) `json:"-"`
	// TakeSeconds makes generated sounds takes of about that length, see
	// source.Request.Seconds; 0 leaves to the drill what its sounds are.
	TakeSeconds float64 `json:"-"`
	// Pause, if it is not nil, is called between slices of the work, see
	// source.Request, and when takes are judged. The exercise is the same.
	Pause func() `json:"-"`
}

// check tells which setting cannot be used.
func (s Settings) check() error {
	if s.ToleranceDB != 0 && !(s.ToleranceDB >= 0.1 && s.ToleranceDB <= 6) {
		return fmt.Errorf("round: a tolerance of %s dB is out of range; it may be 0.1 to 6 dB", number(s.ToleranceDB))
	}
	if s.Rig != nil {
		if err := s.Rig.Validate(); err != nil {
			return fmt.Errorf("round: %w", err)
		}
	}
	return nil
}

// Drills lists the drills in teaching order.
func Drills() []Drill {
	all := source.Generated()
	moving := without(all, source.Steady)
	return []Drill{
		{ID: LineUp, Name: "Line-up", Families: []source.Family{source.Steady}, EitherMeter: true, make: makeLineUp},
		{ID: SetTake, Name: "Set the take", Families: all, Records: true, make: makeTake},
		{ID: LampCount, Name: "Lamp count", Families: []source.Family{source.Plucked, source.Struck, source.Ensemble}, Records: true, FixedCover: true, TapeOnly: true, make: makeLamp},
		{ID: CallUnder, Name: "Call the under-read", Families: all, make: makeCall},
		{ID: MatchEar, Name: "Match by ear", Families: moving, make: makeMatch},
		{ID: Ride, Name: "Ride it", Families: all, FixedLength: true, make: makeRide},
		{ID: WholeDesk, Name: "The whole desk", Families: all, make: makeWhole},
		{ID: TrustIt, Name: "Trust the meter?", Families: moving, NoError: true, FixedCover: true, make: makeTrust},
		{ID: Soundcheck, Name: "Soundcheck", Families: moving, Records: true, make: makeSoundcheck},
		{ID: Chain, Name: "The chain", Families: moving, make: makeChain},
		{ID: OddOne, Name: "The odd one", Families: moving, NoError: true, FixedCover: true, make: makeOdd},
		{ID: Alignment, Name: "Alignment", Families: []source.Family{source.Steady}, make: makeAlignment},
	}
}

// OnRecordings reports whether it can be played on recordings of the learner's own: not
// what lines up a tone, nor the soundcheck, which is judged by how takes grow.
func (d Drill) OnRecordings() bool {
	return d.ID != LineUp && d.ID != Alignment && d.ID != Soundcheck
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
	index    int
	settings Settings
	params   ladder.Params // with the tolerance of the settings, if they have one
	level    int
	rng      *rand.Rand
	ex       *Exercise
}

// NewExercise makes the exercise of a drill that a seed, an index, a level and
// settings stand for. The level is a step of the ladder, or 0 for an exercise off
// the ladder; tolerance, time, cover and the source's difficulty follow from it.
//
// The generator is math/rand/v2's PCG seeded with (seed, index). A family that
// is not given takes its turn, see Turn.
//
// The error tells which argument cannot be used.
func NewExercise(id string, seed uint64, index, level int, s Settings) (*Exercise, error) {
	d, ok := DrillByID(id)
	switch {
	case !ok:
		return nil, fmt.Errorf("drill: there is no drill %q; use one of %s", id, drillNames())
	case index < 0:
		return nil, fmt.Errorf("drill: index %d is negative; count from 0", index)
	case level < 0 || level > ladder.Top:
		return nil, fmt.Errorf("drill: there is no step %d; steps run from %d to %d, 0 is off the ladder", level, ladder.Bottom, ladder.Top)
	}
	switch {
	case s.Passages != nil:
		if !d.OnRecordings() {
			return nil, fmt.Errorf("drill: %q is not played on recordings", d.Name)
		}
		s.Family = source.Own
	case s.Family == "":
		s.Family = Turn(d.Families, seed, index)
		fallthrough
	default:
		if !slices.Contains(d.Families, s.Family) {
			return nil, fmt.Errorf("drill: %q is not played on the family %q; use one of %v", d.Name, s.Family, d.Families)
		}
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	p := ladder.At(level)
	if s.ToleranceDB > 0 {
		p.ToleranceDB = s.ToleranceDB
	}
	f := &draft{index: index, settings: s, params: p, level: level, rng: rand.New(rand.NewPCG(seed, uint64(index)))}
	f.ex = &Exercise{
		Drill: d, Seed: seed, Index: index, Level: level, Family: s.Family,
		Seconds: p.Seconds, View: View{NeedleSeconds: p.NeedleSeconds},
	}
	if err := d.make(f); err != nil {
		return nil, err
	}
	e := f.ex
	if s.Rig != nil && s.Rig.Soft() != e.Rig.Soft() {
		e.Task = said.New("task.other_medium", "%s (Of the rig asked for only the reference counts: this drill is played on %s.)", e.Task, media[e.Rig.Medium])
	}
	e.addControls()
	return e, nil
}

// addControls adds what a take moves.
func (e *Exercise) addControls() {
	for _, s := range e.Channels {
		e.Controls = append(e.Controls, Control{Label: s.Label, Unit: "dB", Min: desk.FaderMin, Max: desk.FaderMax,
			Step: 0.1, Start: s.FaderDB, Aim: s.AimDB, Fixed: s.Fixed})
	}
	for _, s := range e.Stages {
		e.Controls = append(e.Controls, s.Control)
	}
}

// media are what a drill is played on, in words.
var media = map[medium.Kind]said.Sentence{
	medium.KindDigital: said.New("medium.digital", "a digital rig"),
	medium.KindTape:    said.New("medium.tape", "tape"),
}

// Turn returns the family whose turn it is at an index: n families are shuffled
// by PCG (seed, index/n | 1<<63), so that n rounds in a row from a multiple of n
// have each once.
func Turn(families []source.Family, seed uint64, index int) source.Family {
	n := len(families)
	rng := rand.New(rand.NewPCG(seed, uint64(index/n)|1<<63))
	return families[rng.Perm(n)[index%n]]
}

func drillNames() string {
	var names []string
	for _, d := range Drills() {
		names = append(names, d.ID)
	}
	return strings.Join(names, ", ")
}

// generate makes the sound of a channel that a family and a seed stand for.
func (f *draft) generate(channel int, family source.Family, seed uint64) (*source.Sound, error) {
	if f.settings.Passages == nil {
		return source.Request{Family: family, Seed: seed, Difficulty: f.params.Difficulty, Reserved: f.settings.Reserved,
			Seconds: f.settings.TakeSeconds, Pause: f.settings.Pause}.Generate()
	}
	s, err := f.settings.Passages(f.index+channel, seed)
	if err == nil && (len(s.Channels) == 0 || len(s.Channels) > 2 || s.Len() < audio.Rate) {
		err = said.Errorf("round.passage", "round: the passage is not usable; it needs one or two channels of at least a second")
	}
	return s, err
}

// reached is how many of these levels of the ladder it has reached.
func (f *draft) reached(levels ...int) (n int) {
	for _, l := range levels {
		if f.level >= l {
			n++
		}
	}
	return n
}

// own reports whether it is played on recordings of the learner's own.
func (f *draft) own() bool { return f.settings.Passages != nil }

// sound makes the next sound of the exercise's family.
func (f *draft) sound() (*source.Sound, level, error) {
	s, err := f.generate(0, f.settings.Family, f.rng.Uint64())
	if err != nil {
		return nil, level{}, err
	}
	v, err := f.read(s)
	if err != nil {
		return nil, level{}, fmt.Errorf("round: %w", err)
	}
	return s, v, nil
}

// pause marks a place at which the work can be interrupted.
func (f *draft) pause() {
	if f.settings.Pause != nil {
		f.settings.Pause()
	}
}

// sliceFrames is how many frames of a sound are worked on between two pauses.
const sliceFrames = audio.Rate

// aimCentre is the middle of the aims on the fader, in dB; they lie within the
// start spread of the level to either side.
const aimCentre = -7.0

// drawAim draws where on the fader an aim lies, on one of its steps.
func (f *draft) drawAim() float64 {
	return step(aimCentre + float64(2*(f.rng.Float64()-0.5)*f.params.StartSpreadDB))
}

// peaksWish is the share of such rounds in which the peaks are wanted to decide.
func (f *draft) peaksWish() float64 {
	return peaksWish[f.settings.Family] - float64(wishFall*float64(max(f.level-1, 0)))
}

// channel draws where on the fader the aim of a channel lies.
func (f *draft) channel(label string) Channel {
	aim, w := f.drawAim(), f.params.ToleranceDB
	return Channel{Label: label, FaderDB: desk.FaderMin, AimDB: aim, WindowDB: [2]float64{aim - w, aim + w}}
}

// several draws n channels, for each its family, its seed, and where on the fader its aim
// lies; the one at place own is of the family the exercise counts on, and recordings are
// all of theirs. The rest of each is done at the same time, or one after the other where
// the work is interrupted.
func (f *draft) several(n int, families []source.Family, own int, do func(i int, c *Channel, family source.Family, seed uint64) error) error {
	if f.own() { // which may be of any kind
		families = []source.Family{source.Own}
	}
	sources, seeds := make([]source.Family, n), make([]uint64, n)
	f.ex.Channels = make([]Channel, n)
	for i := range n {
		if sources[i] = families[f.rng.IntN(len(families))]; i == own {
			sources[i] = f.settings.Family
		}
		seeds[i] = f.rng.Uint64()
		f.ex.Channels[i] = f.channel(needleName(i))
	}
	var all errgroup.Group
	for i := range n {
		if f.settings.Pause == nil {
			all.Go(func() error { return do(i, &f.ex.Channels[i], sources[i], seeds[i]) })
		} else if err := do(i, &f.ex.Channels[i], sources[i], seeds[i]); err != nil {
			return err
		}
	}
	return all.Wait()
}

// rig returns the rig asked for, or one of digitalRigs, with the tolerance of params.
func (f *draft) rig() Rig {
	all := digitalRigs()
	rig := all[f.rng.IntN(len(all))]
	if f.settings.Rig != nil {
		rig = *f.settings.Rig
	}
	rig.ToleranceDB = f.params.ToleranceDB
	return rig
}

// digital is rig, on tape the highest ceiling with its reference: for drills in which
// nothing but what they are about may mar the sound.
func (f *draft) digital() Rig {
	rig := f.rig()
	if rig.Soft() {
		rig = digitalRig(rig.ReferenceDBFS, leastCeiling)
		rig.ToleranceDB = f.params.ToleranceDB
	}
	return rig
}

// leastCeiling is the highest ceiling of a rig, dBFS (EBU R 128, as true peak).
const leastCeiling = -1

// between draws a number in steps of 0.1.
func (f *draft) between(lo, hi float64) float64 { return step(lo + f.rng.Float64()*(hi-lo)) }
