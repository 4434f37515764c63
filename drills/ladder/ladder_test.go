package ladder

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"slowneedle/audio/source"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// climb gives the levels that a string of answers leads to: r right, w wrong.
func climb(answers string) (levels []int, s State) {
	for _, a := range answers {
		s = s.Next(a == 'r')
		levels = append(levels, s.Now())
	}
	return levels, s
}

// The rule of Levitt 1971, table I, entry 2: up (harder) after two right in a
// row, down (easier) after wrong, or right and then wrong.
func TestRule(t *testing.T) {
	tests := []struct {
		name, answers string
		levels        []int
	}{
		{"begins on the first step", "", nil},
		{"each right answer climbs up to the first wrong one", "rrrr", []int{2, 3, 4, 5}},
		{"wrong is easier", "rrrrw", []int{2, 3, 4, 5, 4}},
		{"two right in a row are harder", "rrrrwrr", []int{2, 3, 4, 5, 4, 4, 5}},
		{"right, then wrong, is easier", "rrrrwrw", []int{2, 3, 4, 5, 4, 4, 3}},
		{"a right answer counts once", "rrrrwrrr", []int{2, 3, 4, 5, 4, 4, 5, 5}},
		{"a wrong answer takes the first right one away", "rrrrwrwr", []int{2, 3, 4, 5, 4, 4, 3, 3}},
		{"there is nothing below the first step", "www", []int{1, 1, 1}},
		{"from the bottom it takes two", "wrrrr", []int{1, 1, 2, 2, 3}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := climb(tt.answers)
			if len(got) != len(tt.levels) {
				t.Fatalf("levels %v", got)
			}
			for i := range got {
				if got[i] != tt.levels[i] {
					t.Fatalf("levels %v, want %v", got, tt.levels)
				}
			}
		})
	}
}

// After a pause a level is lost for each 30 days; three right answers bring them
// back, wrong ones in between or not.
func TestRest(t *testing.T) {
	_, eight := climb("rrrrrrr") // on level 8
	tests := []struct {
		name    string
		days    int
		answers string
		levels  []int // after the pause, then after each answer
	}{
		{"29 days cost nothing", 29, "rr", []int{8, 9, 10}},
		{"30 days cost a level, three right answers bring it back", 30, "rrrr", []int{7, 7, 7, 8, 9}},
		{"100 days cost three", 100, "rrr", []int{5, 5, 5, 8}},
		{"a wrong answer does not stop that", 60, "rrwr", []int{6, 6, 6, 5, 7}},
		{"nobody falls below the first", 4000, "rrr", []int{1, 1, 1, 8}},
		{"a clock set back costs nothing", -90, "r", []int{8, 9}},
	}
	for _, tt := range tests {
		s := eight.Rest(tt.days)
		got := []int{s.Now()}
		for _, a := range tt.answers {
			s = s.Next(a == 'r')
			got = append(got, s.Now())
		}
		if !slices.Equal(got, tt.levels) {
			t.Errorf("%s: levels %v, want %v", tt.name, got, tt.levels)
		}
	}
	// A second pause before the first is made good adds to it.
	s := eight.Rest(30).Next(true).Next(true).Rest(30)
	if s.Now() != 6 || s.Next(true).Now() != 6 || s.Next(true).Next(true).Next(true).Now() != 8 {
		t.Errorf("after two pauses: %+v", s)
	}
	// A shorter one changes nothing, the run of right answers included.
	_, one := climb("rrrrrrwr")
	if s := one.Rest(29); s != one || s.Next(true).Now() != 7 {
		t.Errorf("after 29 days: %+v, before %+v", s, one)
	}
	// The run does not last over a pause that costs a level.
	_, run := climb("rrrrrrwr")
	if s := run.Rest(30).Next(true).Next(true).Next(true).Next(true); s.Now() != 6 {
		t.Errorf("level %d, want 6", s.Now())
	}
	// Neither do right answers before the third, nor does the third count in the run.
	if s := run.Rest(30); s.Back != 0 || s.Run != 0 {
		t.Errorf("after a pause: %+v", s)
	}
	if s := run.Rest(30).Next(true).Next(true).Next(true); s.Run != 0 {
		t.Errorf("after the third right answer: %+v", s)
	}
	if s := one.Rest(30).Next(true).Rest(30); s.Back != 0 || s.Run != 0 {
		t.Errorf("after a second pause: %+v", s)
	}
	// A level beyond the ends, as a damaged file may hold, counts as the end first.
	if s := (State{Level: 1000}).Rest(30); s.Now() != Top-1 {
		t.Errorf("level %d after a pause at 1000", s.Now())
	}
	// At the top nothing is gained by a pause.
	if s := (State{Level: Top}).Rest(30).Next(true).Next(true).Next(true); s.Now() != Top {
		t.Errorf("level %d after a pause at the top", s.Now())
	}
}

func TestEnds(t *testing.T) {
	var s State
	for range 100 {
		s = s.Next(true)
	}
	if s.Now() != Top {
		t.Errorf("level %d after a hundred right answers", s.Now())
	}
	for _, level := range []int{-5, 0, 1000} {
		if n := (State{Level: level}).Now(); n < Bottom || n > Top {
			t.Errorf("level %d counts as %d", level, n)
		}
	}
}

func TestStateAsJSON(t *testing.T) {
	_, want := climb("rrrrwrrwr")
	b, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	var got State
	if err := json.Unmarshal(b, &got); err != nil || got != want {
		t.Errorf("%s gives %+v, want %+v", b, got, want)
	}
}

// Nothing gets easier going up, and every figure stays within what a rig and a
// source may be given.
func TestParams(t *testing.T) {
	for n := Bottom; n <= Top; n++ {
		p := At(n)
		d := p.Difficulty
		if p.ToleranceDB < 0.5 || p.ToleranceDB > 3 || p.StartSpreadDB < 6 || p.StartSpreadDB > 18 ||
			d.Irregular > 1 || d.Wander > 1 || d.Pauses > 1 || d.Irregular < 0 || d.Wander < 0 || d.Pauses < 0 ||
			p.Seconds != 0 && p.Seconds < 15 || p.NeedleSeconds != 0 && p.NeedleSeconds < 3 {
			t.Errorf("level %d: %+v", n, p)
		}
		if n == Bottom {
			continue
		}
		q := At(n - 1)
		if p.ToleranceDB > q.ToleranceDB || p.StartSpreadDB < q.StartSpreadDB ||
			limit(p.Seconds) > limit(q.Seconds) || limit(p.NeedleSeconds) > limit(q.NeedleSeconds) ||
			d.Irregular < q.Difficulty.Irregular || d.Wander < q.Difficulty.Wander || d.Pauses < q.Difficulty.Pauses {
			t.Errorf("level %d is easier than %d: %+v, %+v", n, n-1, p, q)
		}
		if p == q && n < 19 {
			t.Errorf("level %d is no harder than %d", n, n-1)
		}
	}
	if p := At(1); p.ToleranceDB != 3 || p.Seconds != 0 || p.NeedleSeconds != 0 {
		t.Errorf("level 1: %+v", p)
	}
	if At(-3) != At(Bottom) || At(99) != At(Top) {
		t.Error("levels beyond the ends are not the ends")
	}
}

// The figures of the documents, step by step (assets/guide/formats.md): the time
// allowed and how long the needle is in sight, in seconds; and how far the
// source has come on its way to its hardest.
func TestParamsOfTheDocuments(t *testing.T) {
	seconds := []float64{0, 0, 0, 0, 60, 57, 54, 51, 48, 45, 42, 39, 36, 33, 30, 27, 24, 21, 18, 15, 15, 15, 15, 15}
	needle := []float64{0, 0, 0, 0, 0, 0, 0, 0, 20, 18.5, 17, 15.5, 14, 12.5, 11, 9.5, 8, 6.5, 5, 3.5, 3, 3, 3, 3}
	tolerance := []float64{3, 2.8, 2.5, 2.3, 2.1, 2, 1.8, 1.7, 1.5, 1.4, 1.3, 1.2, 1.1, 1, .9, .9, .8, .7, .7, .6, .6, .5, .5, .5}
	spread := []float64{10, 11, 12, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13, 13}
	if off := At(0); off != (Params{StartSpreadDB: 13, ToleranceDB: 1}) {
		t.Errorf("off the steps: %+v", off)
	}
	if len(seconds) != Top {
		t.Errorf("%d steps, the documents have %d", Top, len(seconds))
	}
	for i := range seconds {
		if p := At(i + 1); p.ToleranceDB != tolerance[i] || p.StartSpreadDB != spread[i] {
			t.Errorf("step %d: within %v dB from +-%v dB, want %v and %v", i+1, p.ToleranceDB, p.StartSpreadDB, tolerance[i], spread[i])
		}
		if p := At(i + 1); p.Seconds != seconds[i] || p.NeedleSeconds != needle[i] {
			t.Errorf("step %d: %v s, needle %v s; want %v and %v", i+1, p.Seconds, p.NeedleSeconds, seconds[i], needle[i])
		}
	}
	for level, want := range map[int]source.Difficulty{
		3:  {},
		4:  {Irregular: 1.0 / 15},
		6:  {Irregular: 3.0 / 15, Wander: 1.0 / 13},
		10: {Irregular: 7.0 / 15, Wander: 5.0 / 13, Pauses: 1.0 / 9},
		17: {Irregular: 14.0 / 15, Wander: 12.0 / 13, Pauses: 8.0 / 9},
		18: {Irregular: 1, Wander: 1, Pauses: 1},
	} {
		if got := At(level).Difficulty; got != want {
			t.Errorf("step %d: %+v, want %+v", level, got, want)
		}
	}
}

func limit(seconds float64) float64 {
	if seconds == 0 {
		return math.Inf(1)
	}
	return seconds
}

// target is the share of right answers that the rule comes to rest at (Levitt
// 1971, table I, entry 2): p with p*p = 1/2.
const target = 0.70710678

// learner is a simulated one of known ability: the chance of a right answer on
// each level, in two shapes. A hand errs by a normal distribution against the
// window of At; a logistic learner is the usual psychometric function.
type learner struct {
	name  string
	right func(level int) float64
}

func hand(name string, bias, spread, perLevel float64) learner {
	return learner{name, func(level int) float64 {
		sd := spread * (1 + perLevel*float64(level-1))
		n := distuv.Normal{Mu: bias, Sigma: sd}
		w := At(level).ToleranceDB
		return n.CDF(w) - n.CDF(-w)
	}}
}

func logistic(name string, at, width float64) learner {
	return learner{name, func(level int) float64 {
		mid := at + width*math.Log(target/(1-target)) // right at target on level at
		return 1 / (1 + math.Exp((float64(level)-mid)/width))
	}}
}

// ability is the level, between the steps, at which a learner has target right.
func (l learner) ability() float64 {
	for n := Bottom; n < Top; n++ {
		a, b := l.right(n), l.right(n+1)
		if a >= target && b < target {
			return float64(n) + (a-target)/(a-b)
		}
	}
	return math.NaN()
}

// Learners of known ability settle at 70.7 % right +-2 (Levitt 1971), at their
// own level. The table says after how many rounds: the first round from which
// the mean level of the next ten is within one level of the ability, and the
// round after the fourth reversal.
func TestLearnersSettleAtTheirLevel(t *testing.T) {
	const learners, rounds, settled = 500, 400, 100
	t.Log("learner              ability  share right  mean level  rounds to their level: median, 90 %  settled: median")
	for i, l := range []learner{
		hand("hand, 2.2 dB", 0, 2.2, 0),
		hand("hand, 1.6 dB", 0, 1.6, 0),
		hand("hand, 1.2 dB", 0, 1.2, 0),
		hand("hand, 0.9 dB", 0, 0.9, 0),
		hand("hand, 0.7 dB", 0, 0.7, 0),
		hand("1 dB hot, 1 dB", 1, 1, 0),
		hand("hard is harder", 0, 0.8, 0.05),
		logistic("logistic at 6", 6, 3),
		logistic("logistic at 12", 12, 2),
	} {
		ability := l.ability()
		rng := rand.New(rand.NewPCG(uint64(i), 1971))
		right, levels, reach, turns := 0.0, 0.0, []float64{}, []float64{}
		for range learners {
			var s State
			var path []float64
			turned, reversals, rising := rounds, 0, true
			for n := range rounds {
				path = append(path, float64(s.Now()))
				ok := rng.Float64() < l.right(s.Now())
				if n >= settled {
					levels += path[n]
					if ok {
						right++
					}
				}
				before := s.Now()
				s = s.Next(ok)
				if up := s.Now() > before; s.Now() != before && up != rising {
					rising = up
					if reversals++; reversals == 4 {
						turned = n + 1
					}
				}
			}
			first := rounds
			for n := 0; n+10 <= rounds; n++ {
				if math.Abs(stat.Mean(path[n:n+10], nil)-ability) <= 1 {
					first = n + 1
					break
				}
			}
			reach = append(reach, float64(first))
			turns = append(turns, float64(turned))
		}
		share := right / learners / (rounds - settled)
		level := levels / learners / (rounds - settled)
		t.Logf("%-20s %7.1f %11.1f %% %11.1f %21.0f %8.0f %22.0f", l.name, ability, 100*share, level,
			quantile(reach, 0.5), quantile(reach, 0.9), quantile(turns, 0.5))
		if math.Abs(share-target) > 0.02 {
			t.Errorf("%s: %.1f %% right, want 70.7 +-2", l.name, 100*share)
		}
		if math.Abs(level-ability) > 1 {
			t.Errorf("%s: settles at level %.1f, want %.1f +-1", l.name, level, ability)
		}
	}
}

func quantile(x []float64, p float64) float64 {
	stat.SortWeighted(x, nil)
	return stat.Quantile(p, stat.Empirical, x, nil)
}
