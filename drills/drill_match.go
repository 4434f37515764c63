package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// Levels of the ladder from which there are more sources to match.
const (
	matchThree = 6
	matchFour  = 13
)

// matchRule judges loudness, which the strips' aims carry.
type matchRule struct{}

// makeMatch draws the loudness to be matched, -28 to -22 LUFS, then for each
// source its family, its seed, and where on the fader the aim lies. The second is of the family the exercise
// counts on, the first of another.
//
// Loudness is that of one turn of the loop by ITU-R BS.1770-5, integrated with
// both gates.
func makeMatch(f *draft) (*Exercise, error) {
	e := f.ex
	e.Rig = f.rig(-3)
	n := 2
	if f.level >= matchThree {
		n++
	}
	if f.level >= matchFour {
		n++
	}
	target := f.between(-28, -22)
	others := without(f.ex.Drill.Families, f.settings.Family)
	e.Strips = make([]Strip, n)
	sources := make([]source.Family, n)
	seeds := make([]uint64, n)
	for i := range n {
		sources[i] = others[f.rng.IntN(len(others))]
		if i == 1 {
			sources[i] = f.settings.Family
		}
		seeds[i] = f.rng.Uint64()
		e.Strips[i] = f.strip(string(rune('A' + i)))
	}
	e.Strips[0].Fixed, e.Strips[0].FaderDB, e.Strips[0].AimDB = true, 0, 0
	err := atOnce(n, func(i int) (err error) {
		s := &e.Strips[i]
		if s.Sound, err = source.Generate(sources[i], seeds[i], f.params.Difficulty); err != nil {
			return err
		}
		loud, err := loudness(s.Sound)
		s.StartGainDB = target - loud - s.AimDB
		return err
	})
	if err != nil {
		return nil, err
	}
	e.View.Listen, e.View.OneAtATime, e.View.PerChannel = true, true, true
	e.View.LampCovered, e.View.TargetCovered = true, true
	e.Seconds *= float64(n - 1)
	e.Task = said.New("task.match", "Make every source as loud as A. Switch between them; the ear decides.")
	e.Solution = said.New("solution.match", "At their aims all measure %s LUFS (ITU-R BS.1770): loudness is neither the VU reading nor the peak level.", signed(target, 1))
	e.rule = matchRule{}
	return e, nil
}

// loudness returns the integrated loudness of one turn of a loop in LUFS, as
// it is on a bus where a sound of one channel goes to both sides.
func loudness(s *source.Sound) (float64, error) {
	loud := meter.IntegratedLoudness(audio.Rate, s.Channels[0], s.Channels[len(s.Channels)-1])
	if math.IsNaN(loud) || math.IsInf(loud, 0) {
		return 0, said.Errorf("round.quiet", "drill: the source %q is too quiet for a loudness reading", s.Kind)
	}
	return loud, nil
}

func (x matchRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := e.overall(t)
	v.Code = sided(CodeMatchIn, CodeMatchHot, CodeMatchCold, v)
	return v, nil
}

func (x matchRule) show(e *Exercise) Take { return e.showAll() }

func (matchRule) figures(_ *Exercise, v Verdict) []Figure { return []Figure{errorFigure(v)} }
