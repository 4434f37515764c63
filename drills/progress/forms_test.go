package progress

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"slowneedle/audio/source"
)

// The examples of NIST/SEMATECH e-Handbook 1.3.5.3 (miles per gallon of cars of
// two countries) and 1.3.5.9 (strength of two batches of a ceramic).
func TestTwoSamplesOfTheHandbook(t *testing.T) {
	se, free := welch(6.41470*6.41470, 249, 6.10771*6.10771, 79)
	near(t, "t", (20.14458-30.48101)/se, -12.94627, 1e-4)
	near(t, "degrees of freedom", free, 136.8750, 1e-3)
	near(t, "upper F", fQuantile(0.975, 239, 239), 1.2894, 1e-4)
	near(t, "lower F", fQuantile(0.025, 239, 239), 0.7756, 1e-4)
}

// Learners who err otherwise than the intervals take for granted: a bias of its
// own on each of five families, a normal hand around it, errors noted to 0.1
// dB. Form B is done after some gain. The intervals hold the truth 95 % of the
// time.
func TestFormsHoldTheTruth(t *testing.T) {
	families := []float64{0.6, -0.3, 0, 0.3, -0.6}
	form := func(rng *rand.Rand, rounds int, scale float64) (errs []float64) {
		for i := range rounds {
			e := scale * (families[i%len(families)] + 1.2*rng.NormFloat64())
			errs = append(errs, math.Round(10*e)/10)
		}
		return errs
	}
	const cases = 6000
	for _, gain := range []float64{1, 0.6} {
		// The truth from very long forms.
		long := rand.New(rand.NewPCG(1, 2))
		truth := CompareForms(form(long, 1_000_000, 1), form(long, 1_000_000, gain))
		for _, n := range []int{20, 40} {
			rng := rand.New(rand.NewPCG(98, uint64(n)))
			var size, spread covers
			real := 0
			for range cases {
				c := CompareForms(form(rng, n, 1), form(rng, n, gain))
				size.add(c.SizeDB, truth.SizeDB.Value)
				spread.add(c.Spread, truth.Spread.Value)
				if c.Real() {
					real++
				}
			}
			size.check(t, "size of the error", n)
			spread.check(t, "spread", n)
			t.Logf("change of %.2f dB: called real in %.1f %%", truth.SizeDB.Value, 100*float64(real)/cases)
		}
	}
}

func TestCompareForms(t *testing.T) {
	before := []float64{2, -2, 2, -2, 2, -2, 2, -2, 2, -3}
	after := []float64{1, -1, 1, -1, 1, -1, 1, -1, 1, -2}
	c := CompareForms(before, after)
	near(t, "change", c.SizeDB.Value, -1, 1e-12)
	near(t, "needed", c.NeededDB, c.SizeDB.Hi-c.SizeDB.Value, 1e-12)
	if !c.Real() || c.Before != 10 || c.After != 10 || !(c.Spread.Lo < c.Spread.Value && c.Spread.Value < c.Spread.Hi && c.Spread.Value < 1) {
		t.Errorf("%+v", c)
	}
	if c := CompareForms(before, before); !c.SizeDB.OK || c.Real() {
		t.Errorf("the same again: %+v", c)
	}
	if c := CompareForms(before[:9], after); c.SizeDB.OK || c.Spread.OK || c.Real() {
		t.Errorf("nine rounds: %+v", c)
	}
	same := make([]float64, 10)
	if c := CompareForms(same, same); c.SizeDB.OK || c.Spread.OK {
		t.Errorf("no variance: %+v", c)
	}
}

// Power: how many learners of a class, with twenty rounds before and after, find
// a gain of 0.5 dB in the size of the error four times out of five; and how many
// rounds one learner needs. The learners err normally by 1.4 dB and gain 0.5 dB
// on average, differing by 0.25 dB.
func TestPower(t *testing.T) {
	const cases = 2000
	gain := 1 - 0.5/(1.4*math.Sqrt(2/math.Pi)) // of the spread
	meanSize := func(rng *rand.Rand, rounds int, spread float64) float64 {
		sum := 0.0
		for range rounds {
			sum += math.Abs(spread * rng.NormFloat64())
		}
		return sum / float64(rounds)
	}
	class := func(learners, rounds int) float64 {
		rng := rand.New(rand.NewPCG(uint64(learners), 99))
		found := 0
		for range cases {
			var before, after []float64
			for range learners {
				before = append(before, meanSize(rng, rounds, 1.4))
				after = append(after, meanSize(rng, rounds, max(1.4*gain+0.25/math.Sqrt(2/math.Pi)*rng.NormFloat64(), 0.1)))
			}
			if Paired(before, after).Mean.Excludes(0) {
				found++
			}
		}
		return float64(found) / cases
	}
	for learners, want := range map[int]float64{4: 0.53, 6: 0.80, 8: 0.94} {
		got := class(learners, 20)
		t.Logf("%d learners, 20 rounds each time: found in %.0f %%", learners, 100*got)
		if math.Abs(got-want) > 0.05 {
			t.Errorf("%d learners: %.2f, the documents have %.2f", learners, got, want)
		}
	}
	one := func(rounds int) float64 {
		rng := rand.New(rand.NewPCG(uint64(rounds), 100))
		found := 0
		for range cases {
			var before, after []float64
			for range rounds {
				before, after = append(before, 1.4*rng.NormFloat64()), append(after, 1.4*gain*rng.NormFloat64())
			}
			if CompareForms(before, after).Real() {
				found++
			}
		}
		return float64(found) / cases
	}
	for rounds, want := range map[int]float64{20: 0.60, 30: 0.80} {
		got := one(rounds)
		t.Logf("one learner, %d rounds each time: found in %.0f %%", rounds, 100*got)
		if math.Abs(got-want) > 0.05 {
			t.Errorf("%d rounds: %.2f, the documents have %.2f", rounds, got, want)
		}
	}
}

// Takes of a test form count for the form alone: not for the ladder, the advice or
// the figures of practice. A form that was left for longer than twelve hours
// begins again.
func TestFormsOfABook(t *testing.T) {
	var b Book
	k := Key{Drill: "take", Family: source.Voice}
	add := func(at time.Time, form string, db float64) {
		b.Add(Mark{At: at, Drill: "take", Family: source.Voice, Level: 6, ErrorDB: db, Form: form})
	}
	at := start
	for range 3 {
		add(at, "A", 1)
		at = at.Add(time.Minute)
	}
	if f, ok := b.FormUnder(at); !ok || len(f.Errors) != 3 || len(b.Forms()) != 0 {
		t.Errorf("three rounds: %+v, %v; complete %d", f, ok, len(b.Forms()))
	}
	at = at.Add(13 * time.Hour)
	if _, ok := b.FormUnder(at); ok {
		t.Error("a form is gone on with after thirteen hours")
	}
	for i := range FormRounds {
		add(at, "A", float64(i%3-1)*12)
		at = at.Add(time.Minute)
	}
	add(at, "A", 5)
	forms := b.Forms()
	if len(forms) != 1 || forms[0].Code != "A" || !forms[0].Began.Equal(start.Add(13*time.Hour+3*time.Minute)) {
		t.Fatalf("%+v", forms)
	}
	near(t, "size, of 12 dB only 10", forms[0].SizeDB(), 13*10.0/20, 1e-12)
	if f, ok := b.FormUnder(at); !ok || len(f.Errors) != 1 {
		t.Errorf("the same form once more: %+v, %v", f, ok)
	}
	if b.Len() != 0 || b.Ladder(k, at).Now() != 1 || b.Summary(k, 0).Takes != 0 {
		t.Error("a test form counts as practice")
	}
}

// The interval of a ratio of spreads against critical values of F as tables print them, at
// 2.5 % to either side: 3.77 for 15 and 9 degrees of freedom, 3.12 for 9 and 15, 4.03 for 9
// and 9 (from memory), and those of the e-Handbook's ceramics, 1.3.5.9.
func TestSpreadOfForms(t *testing.T) {
	for _, tt := range []struct {
		before, after  int
		upper, inverse float64 // critical value, and that with the degrees exchanged
	}{{10, 16, 3.77, 3.12}, {16, 10, 3.12, 3.77}, {10, 10, 4.03, 4.03}, {240, 240, 1.2894, 1 / 0.7756}} {
		c := CompareForms(figures(tt.before, 0, 2), figures(tt.after, 0, 1))
		near(t, "ratio", c.Spread.Value, 0.5, 1e-9)
		near(t, "lower", c.Spread.Lo, 0.5/math.Sqrt(tt.upper), 5e-4)
		near(t, "upper", c.Spread.Hi, 0.5*math.Sqrt(tt.inverse), 5e-4)
	}
}
