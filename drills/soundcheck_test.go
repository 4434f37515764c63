package drills

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// recordedGrowth is growth.csv, made from recordings: of voices, or of music.
func recordedGrowth(t *testing.T, voice bool) []float64 {
	t.Helper()
	f, err := os.Open("../testdata/sources/growth.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var all []float64
	for _, row := range rows[1:] {
		if voice == (row[0] == "voice") {
			db, err := strconv.ParseFloat(row[3], 64)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, db)
		}
	}
	slices.Sort(all)
	return all
}

// Takes of the steadiest performer grow as recordings do: the median and the 90th
// percentile within 0.5 dB of the table's. The drill draws 2,000 of each kind; that
// what is drawn is what sounds is measured on the samples of a few.
func TestGrowthFollowsRecordings(t *testing.T) {
	for _, voice := range []bool{true, false} {
		table := recordedGrowth(t, voice)
		rng := rand.New(rand.NewPCG(1, 2))
		var drawn []float64
		for range 2000 {
			drawn = append(drawn, source.Growth(voice, rng.Float64()))
		}
		slices.Sort(drawn)
		for _, share := range []float64{0.5, 0.9} {
			want, got := table[int(share*float64(len(table)))], drawn[int(share*float64(len(drawn)))]
			t.Logf("voice %v: the %.0f %% point of recordings is %.2f dB, of takes %.2f, judged by %.2f", voice, 100*share, want, got, source.Growth(voice, share))
			if math.Abs(got-want) > 0.5 || math.Abs(source.Growth(voice, share)-want) > 0.5 {
				t.Errorf("voice %v: the %.0f %% point is %.2f dB, that of recordings %.2f", voice, 100*share, got, want)
			}
		}
	}
	for i, f := range []source.Family{source.Voice, source.Plucked, source.Struck, source.Ensemble} {
		e := soundcheck(t, uint64(i), 12, f)
		check, take := peakSeen(e), 0.0
		for _, x := range e.After.Channels {
			for _, v := range x {
				take = math.Max(take, math.Abs(float64(v)))
			}
		}
		grown := 20*math.Log10(take) + e.Channels[0].StartGainDB - check
		if v := judged(t, e, e.ShowMe()); math.Abs(grown-v.GrowthDB) > 0.01 {
			t.Errorf("%s: the samples grow by %.2f dB, the verdict tells %.2f", f, grown, v.GrowthDB)
		}
		if s := float64(e.After.Len()) / audio.Rate; s < 55 {
			t.Errorf("%s: the take lasts %.1f s", f, s)
		}
	}
}

func soundcheck(t *testing.T, seed uint64, level int, f source.Family) *Exercise {
	t.Helper()
	e, err := NewExercise(Soundcheck, seed, 0, level, Settings{Family: f})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// A learner who leaves between the soundcheck's peaks and the ceiling what recordings
// need, and what such a performer is known to add, beats one who sets the peaks at the
// ceiling, at every height of the ladder; and their takes are spoiled less often. Both
// know the samples of the soundcheck and the card, not what is judged by.
func TestMarginBeatsPeaksAtTheCeiling(t *testing.T) {
	known := map[string]float64{"performer.even": 0, "performer.up": 2, "performer.all": 4}
	voices, music := recordedGrowth(t, true), recordedGrowth(t, false)
	for _, level := range []int{2, 9, ladder.Top} {
		var points, over [2]int
		const rounds = 16
		for i := range uint64(rounds) {
			f := []source.Family{source.Voice, source.Plucked, source.Struck, source.Ensemble}[i%4]
			e := soundcheck(t, 100+i, level, f)
			table := music
			if f == source.Voice {
				table = voices
			}
			who := e.Task.Args[0].(interface{ String() string })
			extra := -1.0
			for _, p := range performers {
				if p.name.String() == who.String() {
					extra = known[p.name.Code]
				}
			}
			if extra < 0 {
				t.Fatalf("the card names no performer: %s", e.Task)
			}
			for k, margin := range []float64{table[len(table)*9/10] + extra, 0} {
				fader := math.Round(10*(e.Rig.CeilingDBFS-margin-peakSeen(e))) / 10
				v := judged(t, e, at(min(max(fader, -36), 12)))
				points[k] += v.Points
				if v.HeadroomDB < 0 {
					over[k]++
				}
				if math.Abs(v.MarginDB-margin) > 0.06 && fader <= 12 && fader >= -36 {
					t.Errorf("level %d: %.2f dB left, the verdict tells %.2f", level, margin, v.MarginDB)
				}
			}
		}
		t.Logf("level %d: the margin kept %d points a round and %d of %d takes over the ceiling, peaks at the ceiling %d and %d",
			level, points[0]/rounds, over[0], rounds, points[1]/rounds, over[1])
		if points[0] < 95*rounds || points[1] > points[0]*2/3 || over[0] > rounds/4 || over[1] <= over[0] {
			t.Errorf("level %d: the right margin does not pay", level)
		}
	}
}

// What the take does is told and costs nothing: two learners with the same margin
// have the same points, whatever became of their takes. Every sentence is reached.
func TestSoundcheckSentences(t *testing.T) {
	seen := map[Code]bool{}
	points := map[float64]int{}
	for i := range uint64(24) {
		e := soundcheck(t, 300+i, 3, source.Voice)
		for _, off := range []float64{-8, -3.5, 0, 2.8, 8} {
			v := judged(t, e, at(min(max(e.Channels[0].AimDB+off, -36), 12)))
			if math.Abs(v.ErrorDB-off) > 0.05 {
				continue // past the end of the fader
			}
			seen[v.Code] = true
			if was, ok := points[off]; ok && was != v.Points {
				t.Errorf("%+.1f dB off is worth %d points, and %d on another take", off, was, v.Points)
			}
			points[off] = v.Points
			over := v.GrowthDB > v.MarginDB+0.05
			if told := v.Code != codeCheckIn && v.Code != codeCheckHot && v.Code != codeCheckCold; told != over {
				t.Errorf("a margin of %.2f dB, growth of %.2f: %s", v.MarginDB, v.GrowthDB, v.Reason)
			}
		}
	}
	for _, code := range []Code{codeCheckIn, codeCheckHot, codeCheckCold, codeCheckIn + takeOver, codeCheckHot + takeOver} {
		if !seen[code] {
			t.Errorf("no take came to %s", code)
		}
	}
	for _, side := range []Code{codeCheckIn, codeCheckHot, codeCheckCold} {
		for _, then := range []Code{"", takeOver, takeClipped} {
			v := Verdict{Code: side + then, ErrorDB: 2, InWindow: side == codeCheckIn}
			headline, reason := v.Sentences(English)
			if reason == "" || side == codeCheckHot && headline != "2.0 dB too little margin." || side == codeCheckCold && headline != "2.0 dB too much margin." {
				t.Errorf("%s: %q %q", v.Code, headline, reason)
			}
		}
	}
}
