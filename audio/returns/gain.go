package returns

import (
	"math"
	"slices"
)

// Levels are taken from windows of 400 ms, ten a second.
const (
	gainWindow = 0.4
	gainStep   = 0.1
)

// stretch is one window of a round: its powers as it was sent, and as it came
// back less the noise.
type stretch struct {
	at         float64 // its middle, in seconds from the start of the round
	sent, back powers
	clear      [bands]bool // the band stands 10 dB or more above the noise
}

// stretches takes the powers of a round and of what came back of it, window by
// window, between two times. Time t of the round is in back at t·stretch+delay.
func stretches(sound, back []float32, soundRate, backRate float64, at alignment, noise powers, from, to float64) []stretch {
	a, b := newAnalyser(soundRate), newAnalyser(backRate)
	const every = window / 4
	var sent, got []powers
	for i := 0; ; i++ {
		t := from + float64(i)*every
		p, q := int(math.Round(t*soundRate)), int(math.Round((t*at.stretch+at.delay)*backRate))
		if p+a.n > len(sound) || q+b.n > len(back) || t+window > to {
			break
		}
		if q < 0 { // the recorder was started late
			sent, got = append(sent, powers{}), append(got, powers{})
			continue
		}
		sent, got = append(sent, a.look(sound, p)), append(got, b.look(back, q))
	}
	n := int(math.Round((gainWindow-window)/every)) + 1
	var all []stretch
	for k := 0; ; k++ {
		i := int(math.Round(float64(k) * gainStep / every))
		if i+n > len(sent) {
			break
		}
		s := stretch{at: from + float64(k)*gainStep + gainWindow/2, sent: rounded(sent[i : i+n]), back: rounded(got[i : i+n])}
		for band := range s.back {
			s.clear[band] = s.back[band] > 10*noise[band]
			s.back[band] = max(0, s.back[band]-noise[band])
		}
		all = append(all, s)
	}
	return keepSignal(all, noise)
}

// rounded returns the mean of powers, those at the ends weighing less, so that
// a stroke at an edge counts for little whichever side of it it falls.
func rounded(all []powers) (mean powers) {
	for i, p := range all {
		w := (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(all)))) / float64(len(all))
		for b, v := range p {
			mean[b] += w * v
		}
	}
	return mean
}

// keepSignal leaves out windows in which there is too little signal: 20 dB
// below the loudest as it was sent, or less than 10 dB above the noise as it
// came back.
func keepSignal(all []stretch, noise powers) []stretch {
	most := 0.0
	for _, s := range all {
		most = max(most, s.sent.sum())
	}
	return slices.DeleteFunc(all, func(s stretch) bool {
		return s.sent.sum() < most/100 || s.back.sum() < 10*noise.sum() || s.back.sum() < audioFloor/100
	})
}

// equaliser returns by how much each band came back higher than that of the
// tone, as a ratio of powers, over all rounds: the medians of the differences
// from band to band.
func equaliser(rounds [][]stretch) (eq powers) {
	between := func(i, j int) float64 {
		var all []float64
		for _, r := range rounds {
			for _, s := range r {
				least := s.sent.sum() / 30
				if s.sent[i] > least && s.sent[j] > least && s.clear[i] && s.clear[j] {
					all = append(all, db(s.back[j]/s.sent[j])-db(s.back[i]/s.sent[i]))
				}
			}
		}
		if len(all) < 20 {
			return 0
		}
		return median(all)
	}
	level := 0.0
	eq[toneBand] = 1
	for b := toneBand + 1; b < bands; b++ {
		level += between(b-1, b)
		eq[b] = math.Pow(10, level/10)
	}
	level = 0
	for b := toneBand - 1; b >= 0; b-- {
		level += between(b+1, b)
		eq[b] = math.Pow(10, level/10)
	}
	if unevenness(eq) < noEqualiser {
		for b := range eq {
			eq[b] = 1
		}
	}
	return eq
}

// noEqualiser is how uneven bands in dB may be that are not equalised.
const noEqualiser = 0.1

// unevenness is how far an equaliser's bands lie from their mean in dB, as a
// standard deviation.
func unevenness(eq powers) float64 {
	mean, square := 0.0, 0.0
	for _, v := range eq {
		mean += db(v) / bands
		square += db(v) * db(v) / bands
	}
	return math.Sqrt(max(0, square-mean*mean))
}

// gains returns the level of windows against what was sent, a window that
// stands alone left out: each is the median of five.
func gains(all []stretch, eq powers) []GainPoint {
	points, levels := make([]GainPoint, len(all)), make([]float64, len(all))
	for i, s := range all {
		sent := 0.0
		for b, v := range s.sent {
			sent += v * eq[b]
		}
		levels[i] = db(s.back.sum() / sent)
	}
	for i, s := range all {
		points[i] = GainPoint{s.at, median(levels[max(0, i-2):min(len(all), i+3)])}
	}
	return points
}

// The last steady part.
const (
	steadyDB      = 0.3
	steadySeconds = 2.0
	mostTremble   = 2.0 // dB
)

// steady returns the last part of a curve over which the level holds, and the
// level there; false if it never holds for long enough.
func steady(curve []GainPoint) (Span, float64, bool) {
	if len(curve) == 0 {
		return Span{}, math.NaN(), false
	}
	// What the level trembles by anyway: windows that do not overlap, one after
	// the other.
	var steps []float64
	const apart = int(gainWindow / gainStep)
	for i := apart; i < len(curve); i++ {
		steps = append(steps, math.Abs(curve[i].DB-curve[i-apart].DB))
	}
	width := steadyDB
	if len(steps) > 0 {
		sigma := median(steps) / 0.6745 / math.Sqrt2 // of a normal distribution
		width = min(max(width, 6*sigma), mostTremble)
	}
	last := len(curve) - 1
	first, lo, hi := last, curve[last].DB, curve[last].DB
	for first > 0 {
		v := curve[first-1].DB
		if max(hi, v)-min(lo, v) > width {
			break
		}
		lo, hi, first = min(lo, v), max(hi, v), first-1
	}
	part := curve[first:]
	if float64(len(part)-1)*gainStep+gainWindow < steadySeconds {
		return Span{}, math.NaN(), false
	}
	levels := make([]float64, len(part))
	for i, p := range part {
		levels[i] = p.DB
	}
	return Span{curve[first].At - gainWindow/2, curve[last].At + gainWindow/2}, median(levels), true
}

func median(x []float64) float64 {
	y := slices.Sorted(slices.Values(x))
	n := len(y)
	return (y[(n-1)/2] + y[n/2]) / 2
}
