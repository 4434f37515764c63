package report

import (
	"cmp"
	"math"
	"slices"

	"slowneedle/audio/source"
	"slowneedle/drills/progress"
)

// Tally counts takes.
type Tally struct {
	N     int // right or wrong
	Right int
	Hot   int // wrong and too hot
	Cold  int // wrong and too cold
}

// count counts an answer.
func (t *Tally) count(a Answer) {
	t.N++
	switch {
	case a.Right:
		t.Right++
	case a.ErrorDB > 0:
		t.Hot++
	case a.ErrorDB < 0:
		t.Cold++
	}
}

// add counts what another has counted.
func (t *Tally) add(o Tally) {
	t.N, t.Right, t.Hot, t.Cold = t.N+o.N, t.Right+o.Right, t.Hot+o.Hot, t.Cold+o.Cold
}

// Wrong is how many were wrong on one side or the other.
func (t Tally) Wrong() int { return t.Hot + t.Cold }

// Stat is what takes of one kind say of one learner.
type Stat struct {
	Tally
	Bias    progress.Interval // mean signed error with its 95 % t interval
	Spread  progress.Interval // standard deviation with its chi-square interval
	Answers []Answer          // those with an error in dB
}

// add counts an answer; level: it has an error in dB.
func (s *Stat) add(a Answer, level bool) {
	s.count(a)
	if level {
		s.Answers = append(s.Answers, a)
	}
}

// finish works out bias and spread. A single take has a bias and no interval.
func (s *Stat) finish() {
	var x []float64
	for _, a := range s.Answers {
		x = append(x, a.ErrorDB)
	}
	switch len(x) {
	case 0:
	case 1:
		s.Bias.Value = x[0]
	default:
		s.Bias, s.Spread = progress.Mean(x), progress.StdDev(x)
	}
}

// Claim is what may be said of a Stat: +1 hot, -1 cold, 0 nothing. It needs
// MinTakes takes, an interval that excludes zero and half a decibel.
func (s Stat) Claim() int {
	switch {
	case len(s.Answers) < MinTakes || !s.Bias.Excludes(0) || math.Abs(s.Bias.Value) < clearBias:
		return 0
	case s.Bias.Value > 0:
		return 1
	}
	return -1
}

// Outside reports whether most of the takes lie outside their windows on the
// side of the claim: then the learner is too hot or too cold, and does not only
// lean that way.
func (s Stat) Outside() bool {
	switch s.Claim() {
	case 1:
		return 2*s.Hot > s.N
	case -1:
		return 2*s.Cold > s.N
	}
	return false
}

// ClassStat is what the class as a whole does on one family of a sheet. Learners
// count alike, however many takes they made: the bias is the mean of their mean
// errors.
type ClassStat struct {
	Stat
	Family    source.Family
	LeansHot  int // learners of whom it may be said
	LeansCold int
}

// families are those that takes may be of, in teaching order.
func families() []source.Family { return append(source.Generated(), source.Own) }

// figures works out the statistics of a sheet: of its rounds, its learners and
// its class.
func (s *Sheet) figures() {
	for _, e := range s.Entries {
		e.ByFamily = make(map[source.Family]Stat)
		for i, v := range e.Verdicts {
			r := e.Round(i)
			info, a := r.Info, r.answer(v)
			e.Answers = append(e.Answers, a)
			e.All.add(a, !info.NoError)
			one := e.ByFamily[info.Family]
			one.add(a, !info.NoError)
			e.ByFamily[info.Family] = one
		}
		e.All.finish()
		for f, one := range e.ByFamily {
			one.finish()
			e.ByFamily[f] = one
		}
	}
	var errors []float64
	for _, r := range s.Rounds {
		r.finish()
		for _, a := range r.Answers {
			errors = append(errors, a.ErrorDB)
		}
	}
	s.limit = limitFor(errors)
	for _, f := range families() {
		c := ClassStat{Family: f}
		var means []float64
		for _, e := range s.Entries {
			one := e.ByFamily[f]
			c.Tally.add(one.Tally)
			c.Answers = append(c.Answers, one.Answers...)
			if len(one.Answers) > 0 {
				means = append(means, one.Bias.Value)
			}
			switch one.Claim() {
			case 1:
				c.LeansHot++
			case -1:
				c.LeansCold++
			}
		}
		if c.N == 0 {
			continue
		}
		if c.Bias = progress.Mean(means); len(means) == 1 {
			c.Bias.Value = means[0]
		}
		s.Class = append(s.Class, c)
	}
}

// figures works out what a learner's hand-ins say together. Errors of unlike
// sheets are not put together; points are.
func (l *Learner) figures(order []*Sheet) {
	at := func(e *Entry) int { return slices.Index(order, e.Sheet) }
	slices.SortFunc(l.Entries, func(x, y *Entry) int { return cmp.Compare(at(x), at(y)) })
	var x, y []float64
	for i, e := range l.Entries {
		x, y = append(x, float64(i)), append(y, e.Points())
		l.Points += e.Points() / float64(len(l.Entries))
	}
	l.Trend = progress.Slope(x, y)
}

// Change is what a class gained from one test form to another: the change of the
// mean size of the error in dB. Below zero is better.
type Change struct {
	Pairs           []Pair
	progress.Change                 // from the first form to the second
	Later           progress.Change // from the first to the third, for those who have played one
}

// Pair is a learner who has played two forms of a set or more.
type Pair struct {
	Learner *Learner
	Forms   [3]*Entry  // in the order in which they arrived; nil: not played
	SizesDB [3]float64 // mean size of the error on each
}

// pair puts the test forms of each learner side by side, in the order in which they
// arrived, whichever came first: the forms of a set are equivalent. Of unlike sets
// those of the first that was played count, and only what was played to its end.
// What the changes come to is worked out by progress.Paired.
func (b *Book) pair() *Change {
	c := &Change{}
	var sizes [3][]float64 // on the first, second and third form
	var first []float64    // of those who have played a third
	for _, l := range b.Learners {
		var forms []*Entry
		for _, e := range l.Entries {
			if e.Sheet.Sheet.Form != "" && len(e.Answers) == progress.FormRounds {
				forms = append(forms, e)
			}
		}
		slices.SortStableFunc(forms, func(x, y *Entry) int { return x.at().Compare(y.at()) })
		forms = slices.DeleteFunc(forms, func(e *Entry) bool { return !e.Sheet.Sheet.SameSet(forms[0].Sheet.Sheet) })
		if len(forms) < 2 {
			continue
		}
		p := Pair{Learner: l}
		for i, e := range forms {
			var f progress.Form
			for _, a := range e.Answers {
				f.Errors = append(f.Errors, a.ErrorDB)
			}
			p.Forms[i], p.SizesDB[i] = e, f.SizeDB()
			sizes[i] = append(sizes[i], f.SizeDB())
		}
		if len(forms) == 3 {
			first = append(first, p.SizesDB[0])
		}
		c.Pairs = append(c.Pairs, p)
	}
	if len(c.Pairs) == 0 {
		return nil
	}
	c.Change = progress.Paired(sizes[0], sizes[1])
	c.Later = progress.Paired(first, sizes[2])
	return c
}

// Hardest returns the sheet's rounds with enough answers by the share that were
// right, the lowest first; of equals the one with the larger median error.
func (s *Sheet) Hardest() []*Round {
	var list []*Round
	for _, r := range s.Rounds {
		if len(r.Answers) >= fewest {
			list = append(list, r)
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

// Leanings lists who is hot or cold on what in a sheet, the largest first, and
// how many intervals they were picked from.
func (s *Sheet) Leanings() (list []Leaning, intervals int) {
	for _, e := range s.Entries {
		for _, c := range s.Class {
			one := e.ByFamily[c.Family]
			if len(one.Answers) >= MinTakes {
				intervals++
			}
			if one.Claim() != 0 {
				list = append(list, Leaning{e.Learner, c.Family, one})
			}
		}
	}
	slices.SortStableFunc(list, func(x, y Leaning) int {
		return cmp.Compare(math.Abs(y.Stat.Bias.Value), math.Abs(x.Stat.Bias.Value))
	})
	return list, intervals
}
