package drills

import (
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts.
var (
	codeMatchIn   = reason("match_in", "{part} is {error} dB from A by measurement; listeners hardly agree on half a decibel between two sources.").headed("In the window: at most {error} dB from A.")
	codeMatchHot  = reason("match_hot", "{part} is {error} dB louder than A; half a decibel between two sources goes unheard, this much rarely does.").headed("{error} dB too loud.")
	codeMatchCold = reason("match_cold", "{part} is {error} dB quieter than A; half a decibel between two sources goes unheard, this much rarely does.").headed("{error} dB too quiet.")
)

// Levels of the ladder from which there are more sources to match.
const (
	matchThree = 6
	matchFour  = 13
)

// matchRule judges loudness, which the channels' aims carry.
type matchRule struct{}

// How closely loudness is to be matched, dB. Eight expert listeners who matched
// segments of music and speech agreed the better the more alike the two were
// (E. Skovenborg, R. Quesnel, S. H. Nielsen, "Loudness Assessment of Music and
// Speech", AES 116th Convention, 2004: the uncertainty depends on the class). The
// gains that listeners set and those of BS.1770-4 differ by 2.2 dB on average
// ("Validating Loudness Alignment via Subjective Preference", 2022). About one
// decibel is the smallest step that matters to the ear (common practice).
const (
	matchUnlike = 2.0 // narrowest tolerance across families
	matchAlike  = 1.0 // and inside one
)

// matchEdges is the share of a source's energy below 250 Hz or above 6 kHz from
// which on it is not matched by ear: there BS.1770's weighting and the
// equal-loudness contours of ISO 226 differ by 7 dB and more. matchTries is how often
// another is drawn.
const (
	matchEdges = 0.3
	matchTries = 16
)

// makeMatch draws the rig, unless one is asked for, and the loudness to be
// matched, -28 to -22 LUFS; from the step on at which the tolerance is finer than
// unlike sources can be matched, whether all are of one family; then for each
// source its family, its seed, and where on the fader the aim lies. The second is
// of the family the exercise counts on, the first of another if they are unlike.
// What has too much bass or treble is drawn again, from seeds that follow from the first.
// Recordings are matched with each other.
//
// Loudness is that of one turn of the loop by ITU-R BS.1770-5, integrated with
// both gates.
func makeMatch(f *draft) error {
	e := f.ex
	n := 2 + f.reached(matchThree, matchFour)
	e.Rig = f.rig()
	target := f.between(-28, -22)
	families := without(f.ex.Drill.Families, f.settings.Family)
	least := matchUnlike
	if !f.own() && f.params.ToleranceDB < matchUnlike && f.rng.IntN(2) == 0 {
		families, least = []source.Family{f.settings.Family}, matchAlike
	}
	f.params.ToleranceDB = max(f.params.ToleranceDB, least)
	e.Rig.ToleranceDB = f.params.ToleranceDB
	err := f.several(n, families, 1, func(i int, s *Channel, family source.Family, seed uint64) (err error) {
		if i == 0 {
			s.Fixed, s.FaderDB, s.AimDB = true, 0, 0
		}
		for try := range uint64(matchTries) {
			if s.Sound, err = f.generate(i, family, seed+try); err != nil {
				return err
			}
			if f.edgeShare(s.Sound) < matchEdges {
				break
			}
		}
		s.Label += " " + channelName(s.Sound)
		loud, err := f.loudness(s.Sound)
		s.StartGainDB = target - loud - s.AimDB
		return err
	})
	if err != nil {
		return err
	}
	e.View.Listen, e.View.OneAtATime, e.View.PerChannel = true, true, true
	e.View.LampCovered, e.View.TargetCovered = true, true
	e.Seconds *= float64(n - 1)
	e.Task = said.New("task.match", "Make every source as loud as A. Switch between them; the ear decides.")
	e.Solution = said.New("solution.match", "At their aims all measure %s LUFS (ITU-R BS.1770): loudness is neither the VU reading nor the peak level.", signed(target, 1))
	e.rule = matchRule{}
	return nil
}

// edgeShare returns the share of a sound's energy below 250 Hz and above 6 kHz,
// by filters of second order (Butterworth).
func (f *draft) edgeShare(s *source.Sound) float64 {
	var edges, all float64
	for _, ch := range s.Channels {
		low, high := newEdge(250, 1), newEdge(6000, -1)
		for part := range slices.Chunk(ch, sliceFrames) {
			f.pause()
			for _, v := range part {
				x := float64(v)
				l, h := low.filter(x), high.filter(x)
				edges += float64(l*l) + float64(h*h)
				all += float64(x * x)
			}
		}
	}
	return edges / max(all, math.SmallestNonzeroFloat64)
}

// edge is a low-pass (side 1) or a high-pass (side -1) of second order.
type edge struct{ b, side, a1, a2, z1, z2 float64 }

func newEdge(hz, side float64) edge {
	k := math.Tan(math.Pi * hz / audio.Rate)
	norm := 1 / (1 + float64(math.Sqrt2*k) + float64(k*k))
	b := norm
	if side > 0 {
		b = float64(k * k * norm)
	}
	return edge{b: b, side: side, a1: 2 * (float64(k*k) - 1) * norm, a2: (1 - float64(math.Sqrt2*k) + float64(k*k)) * norm}
}

func (f *edge) filter(x float64) float64 {
	y := float64(f.b*x) + f.z1
	f.z1 = float64(2*f.side*f.b*x) - float64(f.a1*y) + f.z2
	f.z2 = float64(f.b*x) - float64(f.a2*y)
	return y
}

// loudness returns the integrated loudness of one turn of a loop in LUFS, as
// it is on a bus where a sound of one channel goes to both sides.
func (f *draft) loudness(s *source.Sound) (float64, error) {
	l, err := meter.NewLoudness(audio.Rate, 2)
	if err != nil {
		return 0, err
	}
	left, right := s.Channels[0], s.Channels[len(s.Channels)-1]
	for from := 0; from < len(left); from += sliceFrames {
		f.pause()
		to := min(from+sliceFrames, len(left))
		l.Process(left[from:to], right[from:to])
	}
	loud := l.Integrated()
	if math.IsNaN(loud) || math.IsInf(loud, 0) {
		return 0, said.Errorf("round.quiet", "drill: the source %q is too quiet for a loudness reading", s.Kind)
	}
	return loud, nil
}

func (x matchRule) verdict(e *Exercise, t Take) (Verdict, error) {
	v := e.overall(t)
	v.Code = sided(codeMatchIn, codeMatchHot, codeMatchCold, v)
	return v, nil
}

func (matchRule) figures(_ *Exercise, v Verdict) []Figure { return []Figure{errorFigure(v)} }
