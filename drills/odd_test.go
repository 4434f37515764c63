package drills

import (
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// oddDraft is what an exercise of the odd one is drawn from.
func oddDraft(seed uint64, level int, family source.Family) *draft {
	d, _ := DrillByID(OddOne)
	return &draft{level: level, params: ladder.At(level), settings: Settings{Family: family},
		rng: rand.New(rand.NewPCG(seed, 0)), ex: &Exercise{Drill: d, Seed: seed, Level: level, Family: family}}
}

// impressions are what a listener who knows nothing of damage could go by: of each
// sound, the level of its quietest and its loudest hundredths of a second, of its
// differences from sample to sample, which are its treble, and of all, in dB.
func impressions(c Channel) [4]float64 {
	g := math.Pow(10, c.StartGainDB/20)
	var all, treble float64
	var levels []float64
	const piece = audio.Rate / 100
	x := c.Sound.Channels[0]
	for from := 0; from+piece <= len(x); from += piece {
		sum := 1e-12
		for i := from; i < from+piece; i++ {
			v := float64(x[i]) * g
			sum += v * v
			all += v * v
			if i > 0 {
				d := v - float64(x[i-1])*g
				treble += d * d
			}
		}
		levels = append(levels, sum)
	}
	slices.Sort(levels)
	db := func(v float64) float64 { return 10 * math.Log10(v) }
	return [4]float64{db(levels[len(levels)/20]), db(levels[len(levels)-1]), db(treble), db(all)}
}

// A listener compares four impressions of the three sounds, each with noise of 0.05 dB,
// and chooses the one that is farthest from the other two. With nothing to hear they
// are at chance over 2,000 answers, in each kind and whichever of the three is the odd
// one; with what there is at the first step they are nearly always right, so they can
// hear.
func TestOddIsAtChanceWithNothingToHear(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	answer := func(seen [][4]float64) int {
		var noisy [oddSounds][4]float64
		for i := range seen {
			for k, v := range seen[i] {
				noisy[i][k] = v + 0.05*rng.NormFloat64()
			}
		}
		best, far := 0, -1.0
		for i := range noisy {
			j, k := (i+1)%oddSounds, (i+2)%oddSounds
			d := 0.0
			for f := range noisy[i] {
				d = max(d, math.Abs(noisy[i][f]-(noisy[j][f]+noisy[k][f])/2)-math.Abs(noisy[j][f]-noisy[k][f]))
			}
			if d > far {
				best, far = i, d
			}
		}
		return best
	}
	const perKind, sounds = 500, 5
	families := []source.Family{source.Voice, source.Plucked, source.Struck, source.Ensemble}
	for _, nothing := range []bool{true, false} {
		all := 0
		for k, kind := range OddKinds() {
			right := 0
			for n := range uint64(sounds) {
				f := oddDraft(100*uint64(k)+n, 1, families[n%4])
				x := f.drawOdd()
				x.kind, x.db = kind, OddAmount(kind, 1)
				if nothing {
					x.db = map[OddKind]float64{OddHiss: -300, OddGrit: -300}[kind]
				}
				if err := oddOf(f, x); err != nil {
					t.Fatal(err)
				}
				e := f.ex
				var seen [][4]float64
				for _, c := range e.Channels {
					seen = append(seen, impressions(c))
				}
				for range perKind / sounds {
					if a := answer(seen); judged(t, e, Take{LockAt: 1, Choice: &a}).InWindow {
						right++
					}
				}
			}
			all += right
			share := float64(right) / perKind
			t.Logf("nothing to hear %v, %s: %.1f %% right", nothing, kind, 100*share)
			if nothing && math.Abs(share-1.0/3) > 0.07 { // 3.3 standard deviations
				t.Errorf("%s: %.1f %% right with nothing to hear", kind, 100*share)
			}
			if !nothing && share < 0.9 {
				t.Errorf("%s: %.1f %% right at the first step", kind, 100*share)
			}
		}
		const answers = 4 * perKind
		share := float64(all) / answers
		if deviation := math.Sqrt(2.0 / 9 / answers); nothing && math.Abs(share-1.0/3) > 3.3*deviation {
			t.Errorf("%.1f %% of %d answers are right with nothing to hear", 100*share, answers)
		}
	}
}

// Which of the three is the odd one follows from nothing that can be known before:
// always the same, the one after the last or another than the last are right in a third
// of 2,000 rounds, and every kind comes up as often.
func TestOddPlaceIsRandom(t *testing.T) {
	const rounds = 2000
	hits, kinds, last := map[string]int{}, map[OddKind]int{}, 0
	for seed := range uint64(rounds) {
		x := oddDraft(seed, 9, source.Voice).drawOdd()
		kinds[x.kind]++
		for name, guess := range map[string]int{"A": 0, "B": 1, "C": 2, "the next": (last + 1) % 3, "the same": last} {
			if guess == x.right {
				hits[name]++
			}
		}
		last = x.right
	}
	for name, n := range hits {
		if math.Abs(float64(n)/rounds-1.0/3) > 0.035 {
			t.Errorf("%s is right in %d of %d rounds", name, n, rounds)
		}
	}
	for kind, n := range kinds {
		if math.Abs(float64(n)/rounds-0.25) > 0.033 {
			t.Errorf("%s comes up in %d of %d rounds", kind, n, rounds)
		}
	}
}

// loudnessOf is a channel's integrated loudness by ffmpeg's ebur128 filter, which
// follows libebur128, to thousandths.
func loudnessOf(t *testing.T, c desk.Config, frames int) float64 {
	t.Helper()
	return figure(t, `lavfi\.r128\.I=(\S+)`, "ffmpeg", "-nostats", "-i", wave(t, c, nil, int64(frames)), "-af", "ebur128=metadata=1,ametadata=print:file=-", "-f", "null", "-")
}

// The three are as loud as each other within 0.1 LU, unless the level is the question:
// then they differ by what the verdict tells. Measured by ffmpeg, as the desk plays
// them.
func TestOddIsAsLoud(t *testing.T) {
	seen := map[OddKind]int{}
	for seed := uint64(0); len(seen) < 4 || seed < 10; seed++ {
		e := exercise(t, OddOne, seed, 1+int(seed*5)%ladder.Top)
		v := judged(t, e, e.ShowMe())
		if seen[v.Odd]++; seen[v.Odd] > 3 {
			continue
		}
		var loud []float64
		for i := range e.Channels {
			c := e.Desk(0)
			c.Channels = c.Channels[i : i+1]
			loud = append(loud, loudnessOf(t, c, e.Channels[i].Sound.Len()))
		}
		right := int(v.Part[0] - 'A')
		clean := loud[(right+1)%3]
		want := clean
		if v.Odd == OddLevel {
			want += v.OddDB
		}
		t.Logf("step %d, %s %+.1f dB: %.2f, the others %.2f LUFS", e.Level, v.Odd, v.OddDB, loud[right], clean)
		if math.Abs(loud[right]-want) > 0.1 || math.Abs(loud[(right+2)%3]-clean) > 0.01 {
			t.Errorf("seed %d, %s: %v LUFS, the odd one is %s", seed, v.Odd, loud, v.Part)
		}
	}
}

// What the verdict tells is there. What was added to the sound is what cannot be got
// from it by a gain: of hiss its loudness, by ffmpeg, and of grit its RMS. What is
// clipped lacks so many decibels between its top and the rest.
func TestOddAmounts(t *testing.T) {
	for _, kind := range []OddKind{OddHiss, OddGrit, OddClip} {
		for _, level := range []int{1, 8, 16} {
			f := oddDraft(uint64(level), level, source.Plucked)
			x := f.drawOdd()
			x.kind, x.db = kind, OddAmount(kind, level)
			if err := oddOf(f, x); err != nil {
				t.Fatal(err)
			}
			e := f.ex
			odd, clean := e.Channels[x.right], e.Channels[(x.right+1)%3]
			a, b := clean.Sound.Channels[0], odd.Sound.Channels[0]
			var aa, ab, topA, topB float64
			for i := range a {
				aa += float64(a[i]) * float64(a[i])
				ab += float64(a[i]) * float64(b[i])
				topA, topB = max(topA, math.Abs(float64(a[i]))), max(topB, math.Abs(float64(b[i])))
			}
			added := make([]float32, len(a))
			rest := 0.0
			for i := range a {
				d := float64(b[i]) - ab/aa*float64(a[i])
				added[i] = float32(d)
				rest += d * d
			}
			got := 10 * math.Log10(rest/aa)
			switch kind {
			case OddHiss:
				c := e.Desk(0)
				c.Channels = c.Channels[:1]
				c.Channels[0].Sound, c.Channels[0].StartGainDB = clean.Sound, 0
				own := loudnessOf(t, c, len(a))
				c.Channels[0].Sound = &source.Sound{Channels: [][]float32{added}}
				c.Channels[0].StartGainDB = -x.db // so that it stands above the gates
				got = loudnessOf(t, c, len(a)) + x.db - own
			case OddClip:
				got = 20 * math.Log10(topA/topB)
			}
			t.Logf("%s at step %d: %.2f dB, asked for %.1f", kind, level, got, x.db)
			if math.Abs(got-x.db) > 0.15 {
				t.Errorf("%s at step %d: there are %.2f dB, asked for %.1f", kind, level, got, x.db)
			}
		}
	}
}

// Switching from one to the next makes no click: the steepest step from sample to
// sample while it happens is no steeper than the sound's own.
func TestOddSwitchesWithoutAClick(t *testing.T) {
	for seed := range uint64(6) {
		e := exercise(t, OddOne, seed, 3)
		pull := func(switching bool) float64 {
			d, err := desk.New(e.Desk(-1))
			if err != nil {
				t.Fatal(err)
			}
			d.SetListen(0)
			out, last, steepest := make([]float32, 2*480), 0.0, 0.0
			for k := range 600 { // six seconds, the fade-in left out
				if switching && k > 100 && k%7 == 0 {
					d.SetListen(k / 7 % 3)
				}
				d.Pull(out)
				for i := 0; i < len(out); i += 2 {
					if k > 60 {
						steepest = max(steepest, math.Abs(float64(out[i])-last))
					}
					last = float64(out[i])
				}
			}
			return steepest
		}
		still, switched := pull(false), pull(true)
		most := 1.1 // of what the odd one may be steeper itself
		if v := judged(t, e, e.ShowMe()); v.Odd == OddLevel {
			most *= math.Pow(10, math.Abs(v.OddDB)/20)
		} else {
			most = 1.6
		}
		if switched > most*still {
			t.Errorf("seed %d: %.5f from sample to sample while switching, %.5f without", seed, switched, still)
		}
	}
}

// With each step there is less of everything, and what is told of it is a number.
func TestOddGetsSlighter(t *testing.T) {
	number := regexp.MustCompile(`\d+\.\d dB`)
	for _, kind := range OddKinds() {
		for level := 2; level <= ladder.Top; level++ {
			if a, b := OddAmount(kind, level-1), OddAmount(kind, level); b > a {
				t.Errorf("%s: %v dB at step %d, %v at step %d", kind, a, level-1, b, level)
			}
		}
		for _, db := range []float64{3, -3} {
			for _, code := range []Code{codeOddRight, codeOddWrong} {
				_, reason := Verdict{Code: code, Odd: kind, OddDB: db, Part: "B", Chosen: "C", InWindow: code == codeOddRight}.Sentences(English)
				if !number.MatchString(reason) || !strings.Contains(reason, "B was the odd one") {
					t.Errorf("%s, %v dB: %q", kind, db, reason)
				}
			}
		}
	}
}
