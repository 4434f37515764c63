package testform

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"slowneedle/drills"
)

// Drawn is a round that was drawn, with what it is matched by.
type Drawn struct {
	Index     int // of its exercise
	kind      string
	raw       bool
	decidedBy drills.Decider
	underDB   float64
	aimDB     float64
}

// DrawnAs returns what an exercise of drills.SetTake is matched by.
func DrawnAs(e *drills.Exercise) Drawn {
	s := e.Channels[0]
	return Drawn{e.Index, s.Sound.Kind, s.Sound.Raw, e.DecidedBy, s.UnderReadDB, s.AimDB}
}

const (
	aimWeight   = 0.25 // what a decibel of aim counts beside one of under-read
	samePassage = 1.0  // what it counts, in dB, that two rounds are of one passage
)

// unlike is how far three rounds are from being equivalent, in what a hand is
// likely to notice: infinite if another kind is heard or another meter decides.
// Rounds of one passage of a recording, which read alike to the last digit, are
// taken where no other is near.
func unlike(t [3]Drawn) float64 {
	for _, d := range t[1:] {
		if d.kind != t[0].kind || d.raw != t[0].raw || d.decidedBy != t[0].decidedBy {
			return math.Inf(1)
		}
	}
	spread := func(of func(Drawn) float64) float64 {
		return max(of(t[0]), of(t[1]), of(t[2])) - min(of(t[0]), of(t[1]), of(t[2]))
	}
	apart := spread(func(d Drawn) float64 { return d.underDB }) + aimWeight*spread(func(d Drawn) float64 { return d.aimDB })
	for i, d := range t {
		if d.underDB == t[(i+1)%len(t)].underDB {
			apart += samePassage
		}
	}
	return apart
}

// threes puts rounds together in threes, each in one at most, those most alike
// first.
func threes(all []Drawn) (list [][3]Drawn) {
	type option struct {
		three [3]Drawn
		apart float64
	}
	var options []option
	for i := range all {
		for j := range i {
			for k := range j {
				three := [3]Drawn{all[k], all[j], all[i]}
				if apart := unlike(three); !math.IsInf(apart, 1) {
					options = append(options, option{three, apart})
				}
			}
		}
	}
	slices.SortStableFunc(options, func(a, b option) int { return cmp.Compare(a.apart, b.apart) })
	used := make(map[int]bool)
	for _, o := range options {
		if t := o.three; !used[t[0].Index] && !used[t[1].Index] && !used[t[2].Index] {
			used[t[0].Index], used[t[1].Index], used[t[2].Index] = true, true, true
			list = append(list, t)
		}
	}
	return list
}

// orders are the ways to give three rounds to three forms.
var orders = [][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}}

// Match chooses the rounds of the forms A, B and C from rounds that were drawn, in
// groups: turn tells from which group round i is, from 0. Of each group it takes the
// threes most alike, and gives each to the forms in the order in which the
// differences cancel best; the orders are gone over as long as that makes it better.
// The error tells which group is too small.
func Match(drawn map[string][]Drawn, turn func(i int) string) (rows [3][Rounds]int, err error) {
	next := make(map[string][][3]Drawn)
	for group, all := range drawn {
		next[group] = threes(all)
	}
	var chosen [Rounds][3]Drawn
	var order [Rounds][3]int
	for i := range Rounds {
		group := turn(i)
		if len(next[group]) == 0 {
			return rows, fmt.Errorf("test form: of %d rounds of %s too few are alike", len(drawn[group]), group)
		}
		chosen[i], next[group] = next[group][0], next[group][1:]
		order[i] = orders[i%len(orders)]
	}
	apart := func() float64 {
		var under, aim [3]float64
		for i, three := range chosen {
			for form, which := range order[i] {
				under[form] += three[which].underDB
				aim[form] += three[which].aimDB
			}
		}
		return slices.Max(under[:]) - slices.Min(under[:]) + aimWeight*(slices.Max(aim[:])-slices.Min(aim[:]))
	}
	for best, better := apart(), true; better; { // orders of two rounds at a time
		better = false
		for i := range order {
			for j := range i {
				for _, o := range orders {
					for _, p := range orders {
						first, second := order[i], order[j]
						order[i], order[j] = o, p
						if now := apart(); now < best-1e-9 {
							best, better = now, true
						} else {
							order[i], order[j] = first, second
						}
					}
				}
			}
		}
	}
	for i, three := range chosen {
		for form, which := range order[i] {
			rows[form][i] = three[which].Index
		}
	}
	return rows, nil
}
