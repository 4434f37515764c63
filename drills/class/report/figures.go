package report

import (
	"cmp"
	"math"
	"slices"

	"slowneedle/audio/source"
	"slowneedle/drills/progress"
)

// Stat is what takes of one kind say of one learner.
type Stat struct {
	N      int
	Right  int
	Bias   progress.Interval // mean signed error with its 95 % t interval
	Spread progress.Interval // standard deviation with its chi-square interval
}

// Claim is what may be said of a Stat: +1 too hot, -1 too cold, 0 nothing. It
// needs MinTakes takes, an interval that excludes zero and half a decibel.
func (s Stat) Claim() int {
	if s.N < MinTakes || !s.Bias.Excludes(0) || math.Abs(s.Bias.Value) < clearBias {
		return 0
	}
	if s.Bias.Value > 0 {
		return 1
	}
	return -1
}

// ClassStat is what the class as a whole does on one family. Learners count
// alike, however many takes they made: Bias is the mean of their mean errors.
type ClassStat struct {
	Family source.Family
	Takes  int
	Right  int
	Bias   progress.Interval
	Means  []float64 // of the learners
	Hot    int       // learners of whom it may be said that they are too hot
	Cold   int
}

// Claim is what may be said of the class, under the conditions that hold for a
// Stat.
func (c ClassStat) Claim() int {
	return Stat{N: c.Takes, Bias: c.Bias}.Claim()
}

// figures works out the statistics of learners and class.
func (b *Book) figures() {
	right := make(map[*Learner]map[source.Family]int)
	for _, l := range b.Learners {
		l.ByFamily = make(map[source.Family]Stat)
		right[l] = make(map[source.Family]int)
		points, n := 0, 0
		for _, e := range l.Entries {
			for i, v := range e.Submission.Result.Verdicts {
				points += v.Points
				n++
				if v.InWindow {
					right[l][e.Sheet.Rounds[i].Info.Family]++
				}
			}
		}
		if n > 0 {
			l.Points = float64(points) / float64(n)
		}
		var all []float64
		rights := 0
		for _, f := range source.Generated() {
			if x := l.errors[f]; len(x) > 0 {
				l.ByFamily[f] = newStat(x, right[l][f])
				all = append(all, x...)
			}
			rights += right[l][f]
		}
		l.All = newStat(all, rights)
	}
	for _, f := range source.Generated() {
		c := ClassStat{Family: f}
		for _, l := range b.Learners {
			s, ok := l.ByFamily[f]
			if !ok {
				continue
			}
			c.Takes += s.N
			c.Right += s.Right
			c.Means = append(c.Means, s.Bias.Value)
			switch s.Claim() {
			case 1:
				c.Hot++
			case -1:
				c.Cold++
			}
		}
		if c.Takes == 0 {
			continue
		}
		if c.Bias = progress.Mean(c.Means); !c.Bias.OK {
			c.Bias.Value = c.Means[0]
		}
		b.Families = append(b.Families, f)
		b.Class = append(b.Class, c)
	}
}

// newStat sums up signed errors. With a single take there is a value and no
// interval.
func newStat(x []float64, right int) Stat {
	s := Stat{N: len(x), Right: right}
	switch len(x) {
	case 0:
	case 1:
		s.Bias.Value = x[0]
	default:
		s.Bias, s.Spread = progress.Mean(x), progress.StdDev(x)
	}
	return s
}

// Hardest returns the rounds with enough answers by the share that were right,
// the lowest first; of equals the one with the larger median error.
func (b *Book) Hardest() []*Round {
	var list []*Round
	for _, s := range b.Sheets {
		for _, r := range s.Rounds {
			if r.N >= fewest {
				list = append(list, r)
			}
		}
	}
	slices.SortStableFunc(list, func(x, y *Round) int {
		return cmp.Or(cmp.Compare(x.Share.Value, y.Share.Value), cmp.Compare(math.Abs(y.Median), math.Abs(x.Median)))
	})
	return list
}

// Leaning is a learner of whom something may be said.
type Leaning struct {
	Learner *Learner
	Family  source.Family
	Stat    Stat
}

// Leanings lists who is too hot or too cold on what, the largest first.
func (b *Book) Leanings() []Leaning {
	var list []Leaning
	for _, l := range b.Learners {
		for _, f := range b.Families {
			if s := l.ByFamily[f]; s.Claim() != 0 {
				list = append(list, Leaning{l, f, s})
			}
		}
	}
	slices.SortStableFunc(list, func(x, y Leaning) int {
		return cmp.Compare(math.Abs(y.Stat.Bias.Value), math.Abs(x.Stat.Bias.Value))
	})
	return list
}

// Intervals is how many intervals Leanings picked from.
func (b *Book) Intervals() (n int) {
	for _, l := range b.Learners {
		for _, s := range l.ByFamily {
			if s.N >= MinTakes {
				n++
			}
		}
	}
	return n
}
