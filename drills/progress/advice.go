package progress

import (
	"cmp"
	"math"
	"slices"
	"time"

	"slowneedle/audio/source"
)

// Code names the sentence that gives the reason for an Advice; the interface
// has the words. The numbers it needs are beside it in Advice.
type Code string

// The reasons, with the sentence each stands for.
const (
	Begin   Code = "begin"   // "Begin with this one." The book is empty
	TooHot  Code = "hot"     // "On struck sources you stop 3 dB too hot."           DB
	TooCold Code = "cold"    // "On struck sources you stop 3 dB too cold."          DB
	Uneven  Code = "uneven"  // "On struck sources you scatter by 3 dB."             DB
	Rusty   Code = "rusty"   // "You have not set struck sources for 12 days."       Days
	Unknown Code = "unknown" // "Only 4 takes on struck sources yet."                Takes
	Missed  Code = "missed"  // "On this drill 55 % of your answers are right."      Share
	Onward  Code = "onward"  // "Level 7 on struck sources is next."                 Level
)

// Advice is what to practise next and why.
type Advice struct {
	Drill  string
	Family source.Family
	Level  int // of the ladder
	Code   Code
	DB     float64 // size of the bias or spread
	Days   int     // since the last take
	Takes  int     // so far
	Share  float64 // of right answers
	// Score is how far the errors are above those of others on the same steps,
	// in standard deviations; below 0 is better than they are.
	Score float64
	Need  float64 // what the rule weighed: the score and what is added to it
}

// Figures of the rule, our own; see Rank.
const (
	recentTakes   = 8
	drillShrink   = 4
	familyShrink  = 6
	pairShrink    = 4
	pairPerDay    = 0.15
	pairRestMost  = 3.0
	drillPerDay   = 0.25
	drillRestMost = 1.0
	untriedMost   = 8.0
	tiredPerTake  = 0.2
	tiredMost     = 2.0
	tiredWithin   = time.Hour
)

// What a reason needs.
const (
	reasonTakes = 4
	shareTakes  = 20
	rustyDays   = 7
	clearBiasDB = 0.5
	clearSpread = 1.0
)

// Next returns what of the choices to practise next: the first that Rank
// returns. ok is false if there are no choices.
func (b *Book) Next(choices []Key, now time.Time) (advice Advice, ok bool) {
	all := b.Rank(choices, now)
	if len(all) == 0 {
		return Advice{}, false
	}
	return all[0], true
}

// Rank puts the choices, each a drill and a family, in order of need, the
// greatest first; of equals the earlier choice. The need is
//
//	the score: each of the newest 8 takes as a standard score, that is the size
//	of its error in tolerances against what others make on that step (in a drill
//	without an error: wrong answers against theirs), averaged over the takes and
//	drawn towards the mean of the takes on the drill and on the family, as
//	if that were 4 takes more,
//	plus 0.15 for every day since the last take, at most 3,
//	plus 0.25 for every day since the last take on the drill, at most 1;
//	each up to 8 since the first take in the book for what was never tried;
//	less 0.2 for each take on the drill within the last hour, at most 2.
//
// Standard scores make drills with unlike units comparable. So the weak come
// before the strong, a few first takes are judged by what is known of the drill
// and the family, what has long been left comes back, what was never tried comes
// up within days, and nobody is sent to the same drill all evening.
//
// The reason given is the first that holds: never tried; seven days or more
// without practice, if they weigh more than the score; fewer than 4 takes; a
// bias of the newest 8 of 0.5 dB or more whose 95 % interval excludes zero and
// that is at least half the spread; with a score above 0 a spread of 1 dB or
// more, or in a drill without an error the share of right answers among the
// newest 20; or else the next level.
func (b *Book) Rank(choices []Key, now time.Time) []Advice {
	st := b.standing()
	all := make([]Advice, 0, len(choices))
	for _, k := range choices {
		all = append(all, b.weigh(Key{Drill: k.Drill, Family: k.Family}, st, now))
	}
	slices.SortStableFunc(all, func(a, c Advice) int { return cmp.Compare(c.Need, a.Need) })
	return all
}

// score returns a take as a standard score among the takes of others on that
// step. A take off the ladder counts as one on the first step.
func (m Mark) score() float64 {
	n := population[max(m.Level, 1)]
	if m.NoError || m.ToleranceDB <= 0 {
		wrong := 1.0
		if m.Right {
			wrong = 0
		}
		return (wrong - n.wrong) / math.Sqrt(n.wrong*(1-n.wrong))
	}
	return (min(math.Abs(m.ErrorDB)/m.ToleranceDB, mostTolerances) - n.mean) / n.deviation
}

// tally sums up standard scores.
type tally struct {
	sum   float64
	takes int
}

func (t *tally) add(sum float64, takes int) { t.sum, t.takes = t.sum+sum, t.takes+takes }

// drawnTo is the mean score drawn towards a value as if it were so many takes.
func (t tally) drawnTo(value float64, takes int) float64 {
	return (t.sum + value*float64(takes)) / float64(t.takes+takes)
}

// standing is how the newest takes of the book stand by drill, by family (over
// what their drills have) and by pair.
type standing struct {
	drills    map[string]tally
	families  map[source.Family]tally
	pairs     map[Key]tally
	practised map[string]time.Time // latest take of a drill
}

func (b *Book) standing() standing {
	st := standing{map[string]tally{}, map[source.Family]tally{}, map[Key]tally{}, map[string]time.Time{}}
	for k, p := range b.pairs {
		var t tally
		for _, m := range p.newest(recentTakes) {
			t.add(m.score(), 1)
		}
		st.pairs[k] = t
		d := st.drills[k.Drill]
		d.add(t.sum, t.takes)
		st.drills[k.Drill] = d
		if last := p.m[len(p.m)-1].At; last.After(st.practised[k.Drill]) {
			st.practised[k.Drill] = last
		}
	}
	for k, t := range st.pairs {
		f := st.families[k.Family]
		f.add(t.sum-st.drill(k.Drill)*float64(t.takes), t.takes)
		st.families[k.Family] = f
	}
	return st
}

func (st standing) drill(d string) float64 { return st.drills[d].drawnTo(0, drillShrink) }

// score is that of a pair, tried or not.
func (st standing) score(k Key) float64 {
	return st.pairs[k].drawnTo(st.drill(k.Drill)+st.families[k.Family].drawnTo(0, familyShrink), pairShrink)
}

// newest returns the last takes of a pair.
func (p *pair) newest(n int) []taken { return p.m[max(len(p.m)-n, 0):] }

// weigh gives the need of one choice and the reason for it.
func (b *Book) weigh(k Key, st standing, now time.Time) Advice {
	a := Advice{Drill: k.Drill, Family: k.Family, Level: b.Ladder(k, now).Now(), Score: st.score(k)}
	p := b.pairs[k]
	rest := min(pairPerDay*float64(days(b.begun, now)), untriedMost)
	if p != nil {
		a.Takes = len(p.m)
		a.Days = days(p.m[len(p.m)-1].At, now)
		rest = min(pairPerDay*float64(a.Days), pairRestMost)
	}
	if last, tried := st.practised[k.Drill]; tried {
		rest += min(drillPerDay*float64(days(last, now)), drillRestMost)
	} else {
		rest += min(drillPerDay*float64(days(b.begun, now)), untriedMost)
	}
	tired := 0
	for o, other := range b.pairs {
		if o.Drill != k.Drill {
			continue
		}
		for i := len(other.m) - 1; i >= 0 && now.Sub(other.m[i].At) < tiredWithin; i-- {
			if !other.m[i].At.After(now) { // or the clock was set back
				tired++
			}
		}
	}
	a.Need = a.Score + rest - min(tiredPerTake*float64(tired), tiredMost)
	switch {
	case b.count == 0:
		a.Code = Begin
	case p == nil:
		a.Code = Unknown
	default:
		a.reason(p, rest)
	}
	return a
}

// reason fills in why a pair that was tried is advised.
func (a *Advice) reason(p *pair, rest float64) {
	var errs []float64
	for _, m := range p.newest(recentTakes) {
		if !m.NoError {
			errs = append(errs, m.ErrorDB)
		}
	}
	errs = regular(errs) // an abandoned take makes no spread
	newest := p.newest(shareTakes)
	for _, m := range newest {
		if m.Right {
			a.Share += 1 / float64(len(newest))
		}
	}
	bias, spread := Mean(errs), StdDev(errs)
	switch {
	case a.Days >= rustyDays && rest > a.Score:
		a.Code = Rusty
	case a.Takes < reasonTakes:
		a.Code = Unknown
	case len(errs) >= reasonTakes && bias.Excludes(0) && math.Abs(bias.Value) >= clearBiasDB && 2*math.Abs(bias.Value) >= spread.Value:
		a.Code, a.DB = TooHot, bias.Value
		if bias.Value < 0 {
			a.Code, a.DB = TooCold, -bias.Value
		}
	case len(errs) >= reasonTakes && spread.Value >= clearSpread && a.Score > 0:
		a.Code, a.DB = Uneven, spread.Value
	case len(errs) == 0 && a.Score > 0:
		a.Code = Missed
	default:
		a.Code = Onward
	}
}
