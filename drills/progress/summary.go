package progress

import (
	"math"
	"time"
)

// CloseDB is how near to the aim a mean error is close, whatever the windows: one
// decibel, about the smallest step that matters to the ear (common practice).
const CloseDB = 1.0

// Summary sums up the takes of a key.
type Summary struct {
	Takes  int       // all of them
	Errors int       // those that have an error in dB
	First  time.Time // of the oldest take; zero if there is none
	Last   time.Time // of the newest

	// Takes that stand far out, such as abandoned ones, are left out of these two and of
	// the trends.
	BiasDB   Interval // mean signed error; hot is positive
	SpreadDB Interval // standard deviation of the error

	InWindow Interval // share inside the window; on a ladder it stays near 0.71, see package ladder

	// Trends of the size of the error in dB; below zero is getting better.
	// Takes are counted in the order they were made, so a clock that was set
	// back does no harm to the first.
	PerHundred Interval // dB for each hundred takes
	PerWeek    Interval // dB for each week
}

// Summary sums up the takes that a key covers, only the newest last of them if
// last > 0.
func (b *Book) Summary(k Key, last int) Summary {
	p := b.points(k, last)
	s := Summary{Takes: len(p)}
	if len(p) == 0 {
		return s
	}
	s.First, s.Last = p[0].At, p[len(p)-1].At
	errs := make([]float64, 0, len(p))
	right := 0
	for _, m := range p {
		if m.Right {
			right++
		}
		if !m.NoError {
			errs = append(errs, m.ErrorDB)
		}
	}
	s.Errors = len(errs)
	if s.Takes >= MinTakes {
		s.InWindow = Share(right, s.Takes)
	}
	if s.Errors >= MinTakes {
		kept := regular(errs)
		s.BiasDB, s.SpreadDB = normal(kept)
	}
	if s.Errors >= MinTrend {
		s.trends(p, errs)
	}
	return s
}

// trends works out the trends of points of which so many errors are known.
func (s *Summary) trends(p []taken, errs []float64) {
	const week = 7 * 24 * time.Hour
	lo, hi := usual(errs)
	var order, weeks, size []float64
	n := 0
	for _, m := range p {
		if m.NoError {
			continue
		}
		if n++; lo <= m.ErrorDB && m.ErrorDB <= hi {
			order = append(order, float64(n)/100)
			weeks = append(weeks, float64(m.At.Sub(p[0].At))/float64(week))
			size = append(size, math.Abs(m.ErrorDB))
		}
	}
	s.PerHundred, s.PerWeek = Slope(order, size), Slope(weeks, size)
}

// trendSpan is the time that takes span before their trend is told by weeks.
const trendSpan = 14 * 24 * time.Hour

// Trend returns the trend that is to be told: in dB for each week if the takes span two
// weeks or more, else for each hundred takes.
func (s Summary) Trend() (t Interval, perWeek bool) {
	if s.Last.Sub(s.First) >= trendSpan {
		return s.PerWeek, true
	}
	return s.PerHundred, false
}

// Group is some takes in a row, for a plot.
type Group struct {
	Takes    int      // how many there are
	InWindow Interval // share inside the window
}

// Series cuts the takes that a key covers into groups of ten in a row, for a
// plot; if that makes more than most groups (and most > 0), into groups of 20,
// 50, 100, 200 and so on. Takes too few for a last full group are left out.
func (b *Book) Series(k Key, most int) []Group {
	p := b.points(k, 0)
	per := MinTakes
	for i := 0; most > 0 && len(p)/per > most; i++ {
		per = per * []int{20, 25, 20}[i%3] / 10
	}
	groups := make([]Group, 0, len(p)/per)
	for first := 0; first+per <= len(p); first += per {
		right := 0
		for _, m := range p[first : first+per] {
			if m.Right {
				right++
			}
		}
		groups = append(groups, Group{per, Share(right, per)})
	}
	return groups
}
