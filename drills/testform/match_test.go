package testform

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"slowneedle/drills"
)

// pool draws rounds as those of recordings are: of a few kinds, raw or finished, decided by
// the needle or the peaks; some are of one passage and read alike to the last digit.
func pool(rng *rand.Rand, n, kinds int) (all []Drawn) {
	for i := range n {
		d := Drawn{Index: i, kind: fmt.Sprint("kind ", rng.IntN(kinds)), raw: rng.IntN(2) == 0, decidedBy: drills.ByNeedle,
			underDB: 4 + 12*rng.Float64(), aimDB: -20 + 26*rng.Float64()}
		if rng.IntN(3) == 0 {
			d.decidedBy = drills.ByPeaks
		}
		if i > 0 && rng.IntN(4) == 0 {
			same := all[rng.IntN(i)]
			d.kind, d.raw, d.underDB = same.kind, same.raw, same.underDB
		}
		all = append(all, d)
	}
	return all
}

// Whatever was drawn: round by round the forms have the same kind, raw or finished, and the
// same of needle and peaks decides; no round is in two forms; over a form under-reads differ by
// at most 0.03 dB in the mean and aims by at most 0.12 dB, as far as three out of so many can be
// told apart, so that a hand whose error grows with either differs by much less than 0.1 dB; and of
// one passage there are hardly ever two rounds in a place of the forms.
func TestMatch(t *testing.T) {
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 3))
		drawn := map[string][]Drawn{"voice": pool(rng, 70, 2), "struck": pool(rng, 70, 1)}
		turn := func(i int) string { return []string{"voice", "struck"}[i%2] }
		rows, err := Match(drawn, turn)
		if err != nil {
			t.Fatal(err)
		}
		used := map[string]bool{}
		var under, aim [3]float64
		twice := 0
		for i := range Rounds {
			all := drawn[turn(i)]
			first := all[rows[0][i]]
			for form, row := range rows {
				d := all[row[i]]
				if d.Index != row[i] || d.kind != first.kind || d.raw != first.raw || d.decidedBy != first.decidedBy {
					t.Errorf("seed %d, round %d: %+v beside %+v", seed, i, d, first)
				}
				id := turn(i) + fmt.Sprint(d.Index)
				if used[id] {
					t.Errorf("seed %d: round %s is in two places", seed, id)
				}
				used[id] = true
				under[form] += d.underDB / Rounds
				aim[form] += d.aimDB / Rounds
				if form > 0 && all[rows[form-1][i]].underDB == d.underDB {
					twice++
				}
			}
			// Nobody is far from the others where so many were drawn.
			if u := spreadOf(rows, all, i, func(d Drawn) float64 { return d.underDB }); u > 5 {
				t.Errorf("seed %d, round %d: under-reads %.1f dB apart", seed, i, u)
			}
		}
		if u, a := most(under)-least(under), most(aim)-least(aim); u+0.25*a > 0.03 {
			t.Errorf("seed %d: the forms differ by %.2f dB in their under-reads and %.2f dB in their aims", seed, u, a)
		}
		t.Logf("seed %d: %.3f, %.3f dB, %d of one passage", seed, most(under)-least(under), most(aim)-least(aim), twice)
		if twice > Rounds/4 {
			t.Errorf("seed %d: %d pairs are of one passage", seed, twice)
		}
	}
	few := map[string][]Drawn{"voice": pool(rand.New(rand.NewPCG(1, 1)), 12, 6)}
	if _, err := Match(few, func(int) string { return "voice" }); err == nil || !strings.Contains(err.Error(), "of 12 rounds of voice too few are alike") {
		t.Errorf("of 12 rounds: %v", err)
	}
}

func spreadOf(rows [3][Rounds]int, all []Drawn, i int, of func(Drawn) float64) float64 {
	var v [3]float64
	for form, row := range rows {
		v[form] = of(all[row[i]])
	}
	return most(v) - least(v)
}

func most(v [3]float64) float64  { return math.Max(v[0], math.Max(v[1], v[2])) }
func least(v [3]float64) float64 { return math.Min(v[0], math.Min(v[1], v[2])) }
