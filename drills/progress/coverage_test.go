package progress

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// covers counts how often intervals hold the true value.
type covers struct{ hit, all int }

func (c *covers) add(i Interval, truth float64) {
	c.all++
	if i.OK && i.Lo <= truth && truth <= i.Hi {
		c.hit++
	}
}

func (c covers) check(t *testing.T, what string, n int) {
	t.Helper()
	share := 100 * float64(c.hit) / float64(c.all)
	t.Logf("%-22s n = %3d   %.2f %%", what, n, share)
	if math.Abs(share-95) > 1.5 {
		t.Errorf("%s of %d takes: the intervals hold the truth in %.2f %% of %d cases, want 95 +-1.5", what, n, share, c.all)
	}
}

// Learners of known bias and spread, whose errors are noted to 0.1 dB: the
// intervals of their summaries hold the truth 95 % of the time.
func TestIntervalsHoldTheTruth(t *testing.T) {
	const cases, bias, spread = 6000, 0.73, 1.31
	truth := math.Sqrt(spread*spread + 0.1*0.1/12) // rounding to 0.1 dB adds to the spread (Sheppard)
	for _, n := range []int{MinTakes, 30, 100} {
		rng := rand.New(rand.NewPCG(95, uint64(n)))
		var b, s covers
		for range cases {
			var book Book
			for range n {
				e := math.Round(10*(bias+spread*rng.NormFloat64())) / 10
				book.Add(Mark{Drill: "d", ErrorDB: e})
			}
			got := book.Summary(Key{}, 0)
			b.add(got.BiasDB, bias)
			s.add(got.SpreadDB, truth)
		}
		b.check(t, "bias", n)
		s.check(t, "spread", n)
	}
}

// Counts are whole, so for one true share the Wilson interval holds it a little
// more or less often than 95 %, up and down with the share. Over learners whose
// true share is anywhere from 30 to 95 % it is 95 %. Here exactly, from the
// binomial distribution.
func TestSharesHoldTheTruth(t *testing.T) {
	for _, n := range []int{MinTakes, 20, 30, 100} {
		total, worst := 0.0, 1.0
		const from, to, step = 0.30, 0.95, 0.001
		count := 0
		for p := from; p <= to; p += step {
			d := distuv.Binomial{N: float64(n), P: p}
			c := 0.0
			for k := range n + 1 {
				if i := Share(k, n); i.Lo <= p && p <= i.Hi {
					c += d.Prob(float64(k))
				}
			}
			total += c
			worst = min(worst, c)
			count++
		}
		mean := total / float64(count)
		t.Logf("n = %3d   %.2f %%, for the least fitting share %.1f %%", n, 100*mean, 100*worst)
		if math.Abs(mean-0.95) > 0.015 {
			t.Errorf("of %d takes: %.2f %%, want 95 +-1.5", n, 100*mean)
		}
	}
}

// The trend of a learner who stays as they are, and of one whose spread shrinks
// evenly from 2 to 1.5 dB.
func TestTrendsHoldTheTruth(t *testing.T) {
	const cases = 6000
	for _, n := range []int{MinTrend, 60, 200} {
		for _, shrink := range []float64{0, 0.5} {
			rng := rand.New(rand.NewPCG(96, uint64(n)))
			// The mean size of a normal error is its deviation times sqrt(2/pi).
			truth := -shrink / float64(n) * 100 * math.Sqrt(2/math.Pi)
			var takes, weeks covers
			for range cases {
				var book Book
				at := time.Date(2026, 3, 1, 19, 0, 0, 0, time.UTC)
				for i := range n {
					sd := 2 - shrink*float64(i)/float64(n)
					book.Add(Mark{At: at.Add(time.Duration(i) * 168 * time.Hour / 100), Drill: "d", ErrorDB: sd * rng.NormFloat64()})
				}
				got := book.Summary(Key{}, 0)
				takes.add(got.PerHundred, truth)
				weeks.add(got.PerWeek, truth) // a hundred takes a week
			}
			what := "no trend"
			if shrink > 0 {
				what = "shrinking"
			}
			takes.check(t, what, n)
			weeks.check(t, what+", by weeks", n)
		}
	}
}

// Errors that shrink by 0.1 dB with each day's take: 0.7 dB a week, 10 dB in a
// hundred takes.
func TestTrendOfALine(t *testing.T) {
	var b Book
	for day := range 28 {
		b.Add(Mark{At: start.AddDate(0, 0, day), Drill: "set", ErrorDB: 5 - 0.1*float64(day)})
	}
	s := b.Summary(Key{}, 0)
	if math.Abs(s.PerWeek.Value+0.7) > 1e-9 || math.Abs(s.PerHundred.Value+10) > 1e-9 {
		t.Errorf("%v dB a week and %v in a hundred takes", s.PerWeek.Value, s.PerHundred.Value)
	}
	if trend, weekly := s.Trend(); !weekly || trend != s.PerWeek {
		t.Errorf("over four weeks it tells of %+v, by weeks: %v", trend, weekly)
	}
}
