package drills

import (
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// These stand behind a reason where the take went over the ceiling, and where it clipped.
const (
	takeOver    = "_over"
	takeClipped = "_clipped"
)

// The reasons of its verdicts.
var (
	codeCheckIn = reason("check_in", "You left {margin} dB where nine takes in ten need {likely}: this one grew by {growth} dB and ended {room} dB below the ceiling.").
			with(takeOver, "You left {margin} dB where nine takes in ten need {likely}; this was the tenth: it grew by {growth} dB and went {room} dB over the ceiling.").
			with(takeClipped, "You left {margin} dB where nine takes in ten need {likely}; this was the tenth: it grew by {growth} dB and clipped.")
	codeCheckHot = reason("check_hot", "You left {margin} dB where nine takes in ten need {likely}: this one grew by only {growth} dB and stayed {room} dB below the ceiling, but that was luck.").headed("{error} dB too little margin.").
			with(takeOver, "You left {margin} dB where nine takes in ten need {likely}: this one grew by {growth} dB and went {room} dB over the ceiling.").
			with(takeClipped, "You left {margin} dB where nine takes in ten need {likely}: this one grew by {growth} dB and clipped.")
	codeCheckCold = reason("check_cold", "You left {margin} dB where nine takes in ten need only {likely}: this one grew by {growth} dB, and {room} dB were left over.").headed("{error} dB too much margin.").
			with(takeOver, "You left {margin} dB where nine takes in ten need only {likely}; this was the rare one that grew by {growth} dB, {room} dB over the ceiling all the same.").
			with(takeClipped, "You left {margin} dB where nine takes in ten need only {likely}; this was the rare one that grew by {growth} dB and clipped all the same.")
)

// Figures of the soundcheck.
const (
	checkSeconds = 12.0 // of the take that are played, over and over, as the soundcheck
	takeSeconds  = 60.0
	checkTold    = 6   // up to this level of the ladder the card has the figure
	leastCheck   = 1.0 // narrowest tolerance, dB: the percentile itself is not known better
	mostCheck    = 1.5 // widest, half of what most takes need: who leaves nothing is not nearly right
)

// performer is how somebody plays once it counts.
type performer struct {
	name     said.Sentence
	extraDB  float64 // by which a take grows beyond what recordings do
	fromStep int     // of the ladder
}

// performers, the steadiest first. That people play louder when it counts and as they
// go on, and that some 6 dB are left for it, is common practice; how much each adds is
// our own figure.
var performers = []performer{
	{said.New("performer.even", "a performer who plays the take as at the soundcheck"), 0, 0},
	{said.New("performer.up", "a performer who plays up once it counts"), 2, 4},
	{said.New("performer.all", "a performer who gives everything in the take"), 4, 8},
}

// soundcheckRule judges the margin that is left at a soundcheck.
type soundcheckRule struct {
	likely float64 // growth of nine takes in ten, dB
	growth float64 // of this one
	take   Channel // the take in place of the soundcheck
}

// makeSoundcheck draws the take's seed, the rig, the performer among those that the
// level has reached, where among recordings the take's growth lies, and where on the
// fader the aim. The soundcheck is the first 12 s of the take, played again and again;
// what follows in the take is raised or lowered so that it peaks higher by the growth
// that was drawn. It is recorded digitally: of a tape rig that is asked for only the
// reference is taken.
//
// The aim leaves between the soundcheck's peaks and the ceiling what nine takes in ten
// of the performer grow by.
func makeSoundcheck(f *draft) error {
	e := f.ex
	family := f.settings.Family
	f.settings.TakeSeconds = takeSeconds
	whole, err := f.generate(0, family, f.rng.Uint64())
	if err != nil {
		return err
	}
	f.params.ToleranceDB = min(max(f.params.ToleranceDB, leastCheck), mostCheck)
	e.Rig = f.digital()
	reached := 0
	for _, p := range performers {
		if f.level >= p.fromStep || f.level == 0 {
			reached++
		}
	}
	who := performers[f.rng.IntN(reached)]
	voice := family == source.Voice
	x := soundcheckRule{likely: source.Growth(voice, 0.9) + who.extraDB}
	want := source.Growth(voice, f.rng.Float64()) + who.extraDB
	check := excerpt(whole, 0, int(checkSeconds*audio.Rate))
	v, err := f.read(check)
	if err != nil {
		return err
	}
	f.grow(whole, v.peak+want)
	peak := audio.DB(float64(f.highest(whole, 0)))
	x.growth = peak - v.peak

	c := f.channel("A")
	c.Sound = check
	c.StartGainDB = e.Rig.CeilingDBFS - x.likely - v.peak - c.AimDB
	c.meter(v, e.Rig, f.params.ToleranceDB, ByPeaks)
	x.take = c
	x.take.Sound, x.take.SamplePeakDBFS = whole, peak+c.StartGainDB
	e.Channels, e.After, e.DecidedBy = []Channel{c}, whole, ByPeaks
	e.View.TargetCovered = true
	e.Task = said.New("task.soundcheck", "This is only the soundcheck. Leave room below the ceiling for %s.", who.name)
	if f.level > 0 && f.level <= checkTold {
		e.Task = said.New("task.soundcheck_told", "This is only the soundcheck. Leave room below the ceiling for %s: nine such takes in ten peak at most %.1f dB higher.", who.name, x.likely)
	}
	e.Solution = said.New("solution.soundcheck", "Nine takes in ten of such a performer grow by at most %.1f dB. This one grew by %.1f dB: with the fader at %s dB its highest peak is at %s dB, with the ceiling as 0.",
		x.likely, x.growth, signed(c.AimDB, 1), signed(x.growth-x.likely, 1))
	e.rule = x
	return nil
}

// grow raises or lowers what follows a soundcheck, within half a second, so that it
// peaks at a level in dBFS.
func (f *draft) grow(s *source.Sound, peakDBFS float64) {
	const from, ramp = int(checkSeconds * audio.Rate), audio.Rate / 2
	top := f.highest(s, from+ramp)
	if top == 0 {
		return
	}
	to := float32(audio.Gain(peakDBFS - audio.DB(float64(top))))
	for _, x := range s.Channels {
		for i := range x[from:] {
			if i%sliceFrames == 0 {
				f.pause()
			}
			g := to
			if i < ramp {
				g = 1 + (to-1)*float32(i)/float32(ramp)
			}
			x[from+i] *= g
		}
	}
}

// excerpt copies a stretch of a sound that goes round without a click: in within 5
// ms, out within half a second, as of somebody who stops and begins again.
func excerpt(s *source.Sound, from, to int) *source.Sound {
	const in, out = audio.Rate / 200, audio.Rate / 2
	part := *s
	part.Channels = nil
	for _, x := range s.Channels {
		y := append([]float32(nil), x[from:to]...)
		for i := range in {
			y[i] *= float32(i) / in
		}
		for i := range out {
			y[len(y)-1-i] *= float32(i) / out
		}
		part.Channels = append(part.Channels, y)
	}
	return &part
}

// highest is the greatest magnitude of a sound from a frame on.
func (f *draft) highest(s *source.Sound, from int) float32 {
	top := float32(0)
	for _, x := range s.Channels {
		for part := range slices.Chunk(x[from:], 10*sliceFrames) {
			f.pause()
			top = max(top, meter.Loudest(part))
		}
	}
	return top
}

// Loudest is the stretch of what is played after the lock that peaks highest, as long
// as the soundcheck, to be heard again. An exercise without one has none.
func (e *Exercise) Loudest() *source.Sound {
	if e.After == nil {
		return nil
	}
	const n = int(checkSeconds * audio.Rate)
	at, top := 0, float32(0)
	for _, x := range e.After.Channels {
		for i, v := range x {
			if v = max(v, -v); v > top {
				at, top = i, v
			}
		}
	}
	from := min(max(at-n/3, 0), e.After.Len()-n)
	return excerpt(e.After, from, from+n)
}

// verdict: right is a margin within the tolerance of what nine takes in ten of the
// performer need; what the take then did is told, and costs nothing.
func (x soundcheckRule) verdict(e *Exercise, t Take) (Verdict, error) {
	c := e.Channels[0]
	fader := e.Setting(t, 0)
	v := c.verdict(fader)
	v.DecidedBy, v.Clipped = e.DecidedBy, x.take.clipped(fader)
	v.MarginDB, v.LikelyDB, v.GrowthDB = e.Rig.CeilingDBFS-c.SamplePeakDBFS-fader, x.likely, x.growth
	v.HeadroomDB = e.Rig.CeilingDBFS - x.take.SamplePeakDBFS - fader
	v.Code = sided(codeCheckIn, codeCheckHot, codeCheckCold, v)
	switch {
	case v.Clipped > 0:
		v.Code += takeClipped
	case step(v.HeadroomDB) < 0:
		v.Code += takeOver
	}
	return v, nil
}

func (soundcheckRule) figures(_ *Exercise, v Verdict) []Figure {
	list := []Figure{errorFigure(v),
		{Name: said.New("figure.margin", "margin left"), Value: v.MarginDB, Unit: UnitDB, Signed: true, Decimals: 1, Tone: toned(v.InWindow)},
		{Name: said.New("figure.likely", "growth, 9 in 10"), Value: v.LikelyDB, Unit: UnitDB, Decimals: 1},
		{Name: said.New("figure.growth", "growth of the take"), Value: v.GrowthDB, Unit: UnitDB, Signed: true, Decimals: 1},
		headroomFigure(v)}
	if v.Clipped > 0 {
		list = append(list, clippedFigure(v))
	}
	return list
}
