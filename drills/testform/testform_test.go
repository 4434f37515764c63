package testform

import (
	"bytes"
	"encoding/csv"
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio/source"
	"slowneedle/drills"
)

var update = flag.Bool("update", false, "make forms.csv again")

// drawn is how many rounds of each family are drawn to match the forms from.
const drawn = 60

// makeSet chooses the rounds of a set.
func makeSet(t *testing.T, set int) [3][Rounds]int {
	t.Helper()
	all := make(map[string][]Drawn)
	for _, f := range source.Generated() {
		for i := range drawn {
			e, err := drills.NewExercise(drills.SetTake, seedOf(set), i, Level, settings(f))
			if err != nil {
				t.Fatal(err)
			}
			all[string(f)] = append(all[string(f)], DrawnAs(e))
		}
	}
	rows, err := Match(all, func(i int) string { return string(drills.Turn(source.Generated(), seedOf(set), i)) })
	if err != nil {
		t.Fatalf("set %d: %v", set, err)
	}
	return rows
}

// TestUpdate makes the table again where that is asked for: after a change of the
// generators, that is of what the seeds stand for.
func TestUpdate(t *testing.T) {
	if !*update {
		return
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	head := []string{"set", "form"}
	for i := range Rounds {
		head = append(head, "round "+strconv.Itoa(i+1))
	}
	w.Write(head)
	for set := range Sets {
		for form, row := range makeSet(t, set) {
			line := []string{strconv.Itoa(set), string(Forms[form])}
			for _, index := range row {
				line = append(line, strconv.Itoa(index))
			}
			w.Write(line)
		}
	}
	w.Flush()
	if err := os.WriteFile("forms.csv", b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	formsCSV = b.String() // for the tests after this one
}

// rounds makes the rounds of a form.
func rounds(t *testing.T, set int, form Form) (all []*drills.Exercise) {
	t.Helper()
	for i := range Rounds {
		e, _, err := Exercise(set, form, i, nil)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

// hand is a simulated hand (invented): its error has a bias on each family, grows
// with the under-read, falls short of aims far up the fader, leaves more or less
// to the peaks, and is normal around that.
type hand struct {
	family              map[source.Family]float64
	under, reach, peaks float64
	spread              float64
}

func drawHand(rng *rand.Rand) hand {
	h := hand{family: map[source.Family]float64{}}
	for _, f := range source.Generated() {
		h.family[f] = rng.NormFloat64()
	}
	h.under, h.reach, h.peaks, h.spread = 0.15*rng.NormFloat64(), 0.1*rng.NormFloat64(), rng.NormFloat64(), 0.6+1.2*rng.Float64()
	return h
}

// play returns the mean error and the mean size of the error on a form, with a
// normal error around what the hand tends to in units of its spread.
func (h hand) play(form []*drills.Exercise, chance func() float64) (mean, size float64) {
	for _, e := range form {
		s := e.Channels[0]
		x := h.family[e.Family] + h.under*(s.UnderReadDB-8) + h.reach*(s.AimDB+7) + h.spread*chance()
		if e.DecidedBy != drills.ByNeedle {
			x += h.peaks
		}
		mean += x / Rounds
		size += math.Abs(x) / Rounds
	}
	return mean, size
}

// All sets, as the forms are checked in: round by round the forms of a set have
// the same family, kind and decision, of kinds that practice does not have; no
// round is in two forms. And the same hand differs between two forms of a set by
// less than 0.1 dB, in its mean error and in the mean size of it: on average over
// 10,000 hands that differ in all that a hand can, and each single one of them but
// for its chance errors; so do a fader that stays where it is and one that follows
// the needle alone.
func TestFormsAreEquivalent(t *testing.T) {
	practised := map[string]bool{}
	for _, f := range source.Generated() {
		for seed := range uint64(60) {
			s, err := source.Request{Family: f, Seed: seed}.Generate()
			if err != nil {
				t.Fatal(err)
			}
			practised[s.Kind] = true
		}
	}
	sets := Sets
	if testing.Short() {
		sets = 1
	}
	for set := range sets {
		forms := map[Form][]*drills.Exercise{}
		for _, f := range Forms {
			forms[f] = rounds(t, set, f)
		}
		checkRounds(t, set, forms, practised)
		for _, p := range [][2]Form{{A, B}, {A, C}, {B, C}} {
			rng := rand.New(rand.NewPCG(uint64(set), 20))
			var bias, size, worst float64
			const hands = 10_000
			for range hands {
				h := drawHand(rng)
				m1, s1 := h.play(forms[p[0]], rng.NormFloat64)
				m2, s2 := h.play(forms[p[1]], rng.NormFloat64)
				bias, size = bias+(m1-m2)/hands, size+(s1-s2)/hands
				m1, _ = h.play(forms[p[0]], func() float64 { return 0 })
				m2, _ = h.play(forms[p[1]], func() float64 { return 0 })
				worst = max(worst, math.Abs(m1-m2))
			}
			for _, fader := range []func(e *drills.Exercise) float64{
				func(*drills.Exercise) float64 { return -7 },
				func(e *drills.Exercise) float64 { return e.Rig.TargetVU - e.Channels[0].ReadingVU },
			} {
				worst = max(worst, math.Abs(meanError(forms[p[0]], fader)-meanError(forms[p[1]], fader)))
			}
			t.Logf("set %d, %s less %s: mean error %+.3f dB, mean size %+.3f dB (a single hand, without its chance errors, up to %.3f dB)", set, p[0], p[1], bias, size, worst)
			if math.Abs(bias) >= 0.1 || math.Abs(size) >= 0.1 || worst >= 0.1 {
				t.Errorf("set %d: %s and %s differ by %+.3f dB, in size %+.3f dB, a single hand by %.3f dB", set, p[0], p[1], bias, size, worst)
			}
		}
	}
}

// meanError is the mean error on a form with the fader set by a rule.
func meanError(form []*drills.Exercise, fader func(e *drills.Exercise) float64) (mean float64) {
	for _, e := range form {
		mean += (fader(e) - e.Channels[0].AimDB) / Rounds
	}
	return mean
}

func checkRounds(t *testing.T, set int, forms map[Form][]*drills.Exercise, practised map[string]bool) {
	t.Helper()
	seen := map[string]bool{}
	count := map[source.Family]int{}
	for i, a := range forms[A] {
		for _, f := range Forms {
			e := forms[f][i]
			s := e.Channels[0]
			if e.Family != a.Family || s.Sound.Kind != a.Channels[0].Sound.Kind || s.Sound.Raw != a.Channels[0].Sound.Raw || e.DecidedBy != a.DecidedBy || e.Rig.String() != a.Rig.String() {
				t.Errorf("set %d, round %d: %s has %s, A %s", set, i+1, f, s.Sound.Kind, a.Channels[0].Sound.Kind)
			}
			if practised[s.Sound.Kind] {
				t.Errorf("set %d, round %d: practice has %s too", set, i+1, s.Sound.Kind)
			}
			id := string(e.Family) + strconv.Itoa(e.Index)
			if seen[id] || e.Rig.ToleranceDB < ToleranceDB {
				t.Errorf("set %d, round %d of %s: %s, tolerance %v dB", set, i+1, f, id, e.Rig.ToleranceDB)
			}
			seen[id] = true
			count[e.Family]++
		}
	}
	for _, f := range source.Generated() {
		if count[f] != len(Forms)*Rounds/5 {
			t.Errorf("set %d: %d rounds of %s", set, count[f], f)
		}
	}
}

func TestWhatThereIsNot(t *testing.T) {
	for _, c := range []struct {
		set  int
		form Form
		i    int
		says string
	}{
		{-1, A, 0, "no set -1"}, {Sets, A, 0, "no set 8"}, {0, "D", 0, "no form"}, {0, "", 0, "no form"},
		{0, A, -1, "no round 0"}, {0, A, Rounds, "no round 21"},
	} {
		if _, _, err := Exercise(c.set, c.form, c.i, nil); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: error %v", c, err)
		}
	}
}
