package progress

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"slowneedle/audio/source"
)

// Learners of a known psychometric function settle where Levitt's rule has 70.7
// % right: the mean of the steps at the turns is within a step of that.
func TestSettledAtTheAbility(t *testing.T) {
	for _, ability := range []float64{5.5, 9.3, 14.2} {
		sum, early := 0.0, 0
		const learners, rounds = 300, 120
		rng := rand.New(rand.NewPCG(49, 467))
		for range learners {
			var b Book
			k := Key{Drill: "set", Family: source.Voice}
			settled := 0
			for i := range rounds {
				at := start.Add(time.Duration(i) * time.Minute)
				level := b.Ladder(k, at).Now()
				// Right in 70.7 % of rounds on the step of the ability.
				chance := 1 / (1 + math.Exp((float64(level)-ability)/1.5-math.Log(math.Sqrt2+1)))
				b.Add(Mark{At: at, Drill: k.Drill, Family: k.Family, Level: level, Right: rng.Float64() < chance, ErrorDB: 1})
				if settled == 0 && b.Mastery(k, at).Settled {
					settled = i
				}
			}
			m := b.Mastery(k, start.Add(rounds*time.Minute))
			if !m.Settled {
				t.Fatal("it has not settled")
			}
			sum += m.SettledAt / learners
			if settled < 6 {
				early++
			}
		}
		t.Logf("ability %.1f: settled at %.1f", ability, sum)
		if math.Abs(sum-ability) > 1 || early > learners/20 {
			t.Errorf("ability %.1f: settled at %.1f, %d of %d within six rounds", ability, sum, early, learners)
		}
	}
}

// The turns of a ladder, by hand: up to step 5, down to 3, up to 4, down.
func TestTurns(t *testing.T) {
	b := new(Book)
	for _, right := range []bool{true, true, true, true, false, false, true, true, false} {
		b.Add(Mark{At: start, Drill: "set", Level: 1, Right: right})
	}
	got := b.pairs[Key{Drill: "set"}].turns()
	if want := []float64{5, 3, 4}; len(got) != 3 || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
		t.Errorf("%v, want %v", got, want)
	}
	if m := b.Mastery(Key{Drill: "set"}, start); m.Settled || m.Step != 3 {
		t.Errorf("%+v", m)
	}
}

// Takes are shown from the first on, claims made from ten on.
func TestMasteryOfFewTakes(t *testing.T) {
	k := Key{"set", source.Struck, "tape"}
	if m := new(Book).Mastery(k, start); m.Step != 1 || m.Takes != 0 || m.Errors != nil {
		t.Errorf("of none: %+v", m)
	}
	m := read(evening(start, "set", source.Struck, 1, 2.5)).Mastery(k, start)
	if len(m.Errors) != 1 || m.Errors[0] != 2.5 || m.SpreadDB.OK {
		t.Errorf("of one: %+v", m)
	}
	b := read(evening(start, "set", source.Struck, 50, 2.5, 1.5))
	if m := b.Mastery(k, start); len(m.Errors) != 30 || m.Takes != 30 || !m.SpreadDB.OK || !m.PerWeek.OK {
		t.Errorf("of fifty: %+v", m)
	}
}

func TestStreak(t *testing.T) {
	for _, tt := range []struct {
		name          string
		days          map[int]int // takes by day
		today         int
		current, best int
	}{
		{"nothing", nil, 0, 0, 0},
		{"today", map[int]int{0: 6}, 0, 1, 1},
		{"five takes are no practice", map[int]int{0: 5}, 0, 0, 0},
		{"three days", map[int]int{0: 6, 1: 9, 2: 12}, 2, 3, 3},
		{"a day of rest does no harm", map[int]int{0: 6, 2: 6, 4: 6}, 4, 3, 3},
		{"two do", map[int]int{0: 6, 1: 6, 4: 6}, 4, 1, 2},
		{"over for now", map[int]int{0: 6, 1: 6}, 4, 0, 2},
		{"still on", map[int]int{0: 6, 1: 6}, 3, 2, 2},
		{"the best was before", map[int]int{0: 6, 1: 6, 2: 6, 10: 6}, 10, 1, 3},
	} {
		var b Book
		for day := range 20 {
			for range tt.days[day] {
				b.Add(Mark{At: start.AddDate(0, 0, day), Drill: "set"})
			}
		}
		if c, best := b.Streak(start.AddDate(0, 0, tt.today)); c != tt.current || best != tt.best {
			t.Errorf("%s: %d in a row, %d at best; want %d and %d", tt.name, c, best, tt.current, tt.best)
		}
	}
}

// Days are those of the calendar, whatever the hour: a year of practices at one
// minute before midnight is a year in a row.
func TestStreakOverAYear(t *testing.T) {
	var b Book
	late := time.Date(2026, 1, 1, 23, 59, 0, 0, time.UTC)
	for day := range 365 {
		for range 6 {
			b.Add(Mark{At: late.AddDate(0, 0, day), Drill: "set"})
		}
	}
	if c, best := b.Streak(late.AddDate(0, 0, 364)); c != 365 || best != 365 {
		t.Errorf("%d days in a row, %d at best", c, best)
	}
}
