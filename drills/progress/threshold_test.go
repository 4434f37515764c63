package progress

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/ladder"
)

// listener hears as signal detection has it (D. M. Green, J. A. Swets, "Signal
// Detection Theory and Psychophysics", 1966): each of three sounds gives an impression
// with noise of its own, the odd one's is stronger by d', and the strongest is chosen.
// d' is 1 at some amount and grows by a factor of two every six decibels. It knows
// nothing of logistic functions.
type listener struct {
	unit float64 // amount at which d' is 1, on the scale of thresholds
	rng  *rand.Rand
}

func (l listener) sensitivity(x float64) float64 { return math.Exp2((x - l.unit) / 6) }

func (l listener) hears(x float64) bool {
	odd := l.rng.NormFloat64() + l.sensitivity(x)
	others := [2]float64{l.rng.NormFloat64(), l.rng.NormFloat64()}
	return odd > max(others[0], others[1])
}

// share of right answers, by integrating over the odd one's impression.
func (l listener) share(x float64) float64 {
	sum, d := 0.0, l.sensitivity(x)
	const dz = 0.01
	for z := -8.0; z < 12; z += dz {
		phi := 0.5 * (1 + math.Erf(z/math.Sqrt2))
		sum += dz * math.Exp(-(z-d)*(z-d)/2) / math.Sqrt(2*math.Pi) * phi * phi
	}
	return sum
}

// threshold is where the share is half-way from a third to 98 %, by halving.
func (l listener) threshold() float64 {
	lo, hi := l.unit-40, l.unit+40
	for hi-lo > 1e-3 {
		if mid := (lo + hi) / 2; l.share(mid) < (1.0/3+0.98)/2 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// heard is what is on the scale of thresholds at a step: 20 log10 of clipping and of a
// level off, as the documentation has it.
func heard(kind drills.OddKind, level int) float64 {
	db := drills.OddAmount(kind, level)
	if kind == drills.OddClip || kind == drills.OddLevel {
		return 20 * math.Log10(db)
	}
	return db
}

// Simulated listeners of known threshold climb the ladder; what is fitted to their
// answers is the threshold they have, without much of a bias, and its interval
// holds it in about 95 of 100.
func TestThresholdOfKnownListeners(t *testing.T) {
	for _, kind := range drills.OddKinds() {
		for _, answers := range []int{40, 120} {
			var off []float64
			held, ok := 0, 0
			const listeners = 100
			for n := range uint64(listeners) {
				rng := rand.New(rand.NewPCG(n, 14))
				l := listener{unit: heard(kind, 8+int(n%8)) - 3, rng: rng}
				b, truth := new(Book), l.threshold()
				var s ladder.State
				for range answers {
					level := s.Now()
					right := l.hears(heard(kind, level))
					s = s.Next(right)
					sign := float64(1 - 2*rng.IntN(2))
					db := drills.OddAmount(kind, level)
					if kind == drills.OddLevel {
						db *= sign // softer is as far off as louder
					}
					b.Add(Mark{At: time.Unix(int64(n), 0), Drill: drills.OddOne, Family: "voice", Level: level, NoError: true, Right: right, Odd: kind, OddDB: db})
				}
				i, count := b.Threshold(kind)
				if count != answers {
					t.Fatalf("%d answers counted, want %d", count, answers)
				}
				if !i.OK {
					continue
				}
				ok++
				value, lo, hi := i.Value, i.Lo, i.Hi
				if kind == drills.OddClip || kind == drills.OddLevel {
					value, lo, hi = 20*math.Log10(value), 20*math.Log10(lo), 20*math.Log10(hi)
				}
				off = append(off, value-truth)
				if lo <= truth && truth <= hi {
					held++
				}
			}
			slices.Sort(off)
			middle := off[len(off)/2]
			t.Logf("%s, %d answers: %d of %d listeners have a threshold, off by %+.2f dB in the median (%.2f to %.2f in the middle half), the interval holds it in %d", kind, answers, ok, listeners, middle, off[len(off)/4], off[len(off)*3/4], held)
			if ok < listeners*7/10 {
				t.Errorf("%s, %d answers: only %d of %d listeners have a threshold", kind, answers, ok, listeners)
			}
			bias := 1.5 // of few answers, most of them on the way up the ladder
			if answers > 100 {
				bias = 0.6
			}
			if share := float64(held) / float64(ok); math.Abs(middle) > bias || share < 0.9 || share == 1 {
				t.Errorf("%s, %d answers: off by %+.2f dB, held in %.0f %%", kind, answers, middle, 100*share)
			}
		}
	}
}

// Nothing is claimed on few answers, nor on answers that were all right or all
// guesses; test forms do not count.
func TestNoThreshold(t *testing.T) {
	add := func(n int, right func(i int) bool, form string) *Book {
		b := new(Book)
		for i := range n {
			b.Add(Mark{At: time.Unix(int64(i), 0), Drill: drills.OddOne, Family: "voice", Level: 1 + i%10, NoError: true, Right: right(i),
				Odd: drills.OddHiss, OddDB: drills.OddAmount(drills.OddHiss, 1+i%10), Form: form})
		}
		return b
	}
	for name, b := range map[string]*Book{
		"few":       add(MinThreshold-1, func(i int) bool { return i%10 < 5 }, ""),
		"all right": add(60, func(int) bool { return true }, ""),
		"guesses":   add(60, func(i int) bool { return i%3 == 0 }, ""),
		"a form":    add(60, func(i int) bool { return i%10 < 5 }, "code"),
	} {
		if i, n := b.Threshold(drills.OddHiss); i != (Interval{}) {
			t.Errorf("%s: %+v on %d answers", name, i, n)
		}
		if i, n := b.Threshold(drills.OddClip); n != 0 || i != (Interval{}) {
			t.Errorf("%s: clipping %+v on %d answers", name, i, n)
		}
	}
	if i, _ := add(60, func(i int) bool { return i%10 < 5 || i%30 == 7 }, "").Threshold(drills.OddHiss); !i.OK {
		t.Error("no threshold of a learner who hears half of what there is")
	}
}

// The threshold and the ends of its interval are told in steps of 0.1 dB from the amounts
// that were tried.
func TestThresholdInTenths(t *testing.T) {
	for more := range 8 { // of 20 answers to 8 dB that are right
		var all []trial
		for i := range 20 {
			all = append(all, trial{4, i < 7}, trial{8, i < 10+more}, trial{20, i < 19})
		}
		got := fit(all)
		if !got.OK || got.Lo > got.Value || got.Value > got.Hi || got.Value < 0 || got.Value > 20 {
			t.Errorf("%d more: %+v", more, got)
		}
		for _, v := range []float64{got.Value, got.Lo, got.Hi} {
			if tenths := 10 * v; math.Abs(tenths-math.Round(tenths)) > 1e-6 {
				t.Errorf("%d more: %v dB is no whole number of tenths", more, v)
			}
		}
	}
}
