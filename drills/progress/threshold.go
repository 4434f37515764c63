package progress

import (
	"cmp"
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/drills"
)

// trial is an answer to one amount of what is wrong.
type trial struct {
	x     float64 // the amount on the scale of its threshold
	right bool
}

// onScale is an amount on the scale on which hearing is fitted, in dB: clipping and
// levels, which differ by factors from step to step, as 20 log10 of theirs.
func onScale(kind drills.OddKind, db float64) float64 {
	if factor(kind) {
		return audio.DB(math.Abs(db))
	}
	return db
}

// amount is what stands on the scale, in dB.
func amount(kind drills.OddKind, x float64) float64 {
	if factor(kind) {
		return audio.Gain(x)
	}
	return x
}

func factor(kind drills.OddKind) bool { return kind == drills.OddClip || kind == drills.OddLevel }

// Figures of the psychometric function.
const (
	guessed      = 1.0 / 3 // share of right answers to what cannot be heard: three sounds
	lapsed       = 0.02    // share of wrong answers to what cannot be missed (common practice)
	MinThreshold = 40      // answers that a threshold needs
	ratio        = 5.4     // twice the logarithm of the likelihood ratio at the interval's ends
	newestHeard  = 120     // that count: a learner gets better
)

// Threshold is the least that the learner hears of a kind of damage, in dB as
// drills.OddAmount has it: where the answers are right half-way between guessing and
// never missing, in two of three. It is the maximum-likelihood fit of a logistic
// function with a floor of one third and a lapse rate of 2 %, its interval that of the
// likelihood ratio (F. A. Wichmann, N. J. Hill, "The psychometric function: I",
// Perception & Psychophysics 63, 1293, 2001; the interval from S. S. Wilks, Ann. Math.
// Stat. 9, 60, 1938), with the slope free. For one parameter the ratio's end is 3.84;
// answers that were chosen by the ladder, and listeners whose hearing is no logistic
// function, need 5.4 for 95 % (simulated). No claim is made on fewer than MinThreshold
// answers, and none where the interval has no end among the amounts that were tried.
func (b *Book) Threshold(kind drills.OddKind) (i Interval, answers int) {
	all := b.heard[kind]
	answers = len(all)
	if answers < MinThreshold {
		return Interval{}, answers
	}
	i = fit(all[max(0, answers-newestHeard):])
	i.Value, i.Lo, i.Hi = amount(kind, i.Value), amount(kind, i.Lo), amount(kind, i.Hi)
	if !i.OK {
		i = Interval{}
	}
	return i, answers
}

// slopes are those that hearing has, in dB: from 1.7, where d' grows with the power of
// what is to be heard, to twice the 3.5 where it grows with its amplitude (signal
// detection with three sounds). Steeper ones would fit what few answers leave open, and
// the fit would lean to where the ladder has settled.
var slopes = []float64{1.7, 2.1, 2.6, 3.2, 4, 5, 6, 7}

// answered is how often one amount was answered, and how often rightly.
type answered struct {
	x     float64
	n, in int
}

// fit finds the threshold on a grid, which has no local maxima to be caught in: in
// steps of 0.1 dB over the amounts that were tried and as far again as the slope
// reaches beyond, for slopes from steep to flat.
func fit(trials []trial) Interval {
	sorted := slices.SortedFunc(slices.Values(trials), func(a, b trial) int { return cmp.Compare(a.x, b.x) })
	var all []answered
	for _, t := range sorted {
		if len(all) == 0 || all[len(all)-1].x != t.x {
			all = append(all, answered{x: t.x})
		}
		last := &all[len(all)-1]
		last.n++
		if t.right {
			last.in++
		}
	}
	const beyond, every = 12.0, 0.1
	lo, hi := all[0].x-beyond, all[len(all)-1].x+beyond
	profile := make([]float64, int((hi-lo)/every)+1) // the best of all slopes
	best := 0
	for k := range profile {
		profile[k] = math.Inf(-1)
		for _, slope := range slopes {
			profile[k] = max(profile[k], likelihood(all, lo+every*float64(k), slope))
		}
		if profile[k] > profile[best] {
			best = k
		}
	}
	first, last := best, best
	for first > 0 && profile[first-1] >= profile[best]-ratio/2 {
		first--
	}
	for last < len(profile)-1 && profile[last+1] >= profile[best]-ratio/2 {
		last++
	}
	at := func(k int) float64 { return lo + every*float64(k) }
	return Interval{at(best), at(first), at(last), first > 0 && last < len(profile)-1}
}

// likelihood is the logarithm of how likely the answers are with a threshold and a
// slope, in dB.
func likelihood(all []answered, threshold, slope float64) float64 {
	sum := 0.0
	for _, t := range all {
		p := guessed + (1-guessed-lapsed)/(1+math.Exp((threshold-t.x)/slope))
		sum += float64(t.in)*math.Log(p) + float64(t.n-t.in)*math.Log(1-p)
	}
	return sum
}
