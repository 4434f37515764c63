package drills

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// sweepSteps are the steps of the ladder at which rounds are drawn in bulk.
var sweepSteps = []int{1, 8, 16, ladder.Top}

// sweep draws 2,000 rounds of Set the take, a hundred of each family at each of
// sweepSteps, and looks at them on all cores at once.
func sweep(t *testing.T, look func(e *Exercise)) {
	t.Helper()
	each := 100
	if testing.Short() {
		each = 10
	}
	var jobs []Exercise
	for _, level := range sweepSteps {
		for _, f := range source.Generated() {
			for i := range each {
				jobs = append(jobs, Exercise{Seed: uint64(1 + i/20), Index: i, Level: level, Family: f})
			}
		}
	}
	var wg sync.WaitGroup
	cores := runtime.GOMAXPROCS(0)
	for c := range cores {
		wg.Go(func() {
			for i := c; i < len(jobs); i += cores {
				j := jobs[i]
				e, err := NewExercise(SetTake, j.Seed, j.Index, j.Level, Settings{Family: j.Family})
				if err != nil {
					t.Error(err)
					return
				}
				look(e)
			}
		})
	}
	wg.Wait()
}

// peaksDecide is how often the peaks, on tape the lamp, should decide the rounds
// of a family, in percent: a figure of the design. A steady source is left to
// the needle, as in life.
var peaksDecide = map[source.Family]float64{
	source.Steady: 0, source.Voice: 36, source.Plucked: 51, source.Ensemble: 45, source.Struck: 70,
}

// Two thousand rounds.
//
// Each aim is right, see checkAim.
//
// A trainer in which the needle always decides teaches the wrong lesson. At every
// step each family keeps within 6 points of its figure, and the needle decides 50
// to 65 % of all; peaks and lamp each decide at least one round in twelve.
func TestTwoThousandRounds(t *testing.T) {
	type cell struct {
		level  int
		family source.Family
	}
	all := make(map[cell]map[Decider]int)
	under := make(map[cell]float64)
	rigs := make(map[string]int)
	var mu sync.Mutex
	sweep(t, func(e *Exercise) {
		checkAim(t, e)
		mu.Lock()
		defer mu.Unlock()
		bare := e.Rig
		bare.ToleranceDB = 1
		rigs[bare.String()]++
		c := cell{e.Level, e.Family}
		if all[c] == nil {
			all[c] = make(map[Decider]int)
		}
		all[c][e.DecidedBy]++
		under[c] += e.Channels[0].UnderReadDB / 100
	})
	t.Logf("rigs: %v", rigs)
	if len(rigs) != len(standing) && !testing.Short() {
		t.Errorf("%d rigs were drawn, want %d", len(rigs), len(standing))
	}
	for rig := range rigs {
		if !slices.Contains(standing, rig) {
			t.Errorf("the rig %s was drawn, which does not exist", rig)
		}
	}
	for _, level := range sweepSteps {
		if testing.Short() { // too few rounds to tell
			continue
		}
		sum := make(map[Decider]int)
		for _, f := range source.Generated() {
			n := all[cell{level, f}]
			for by, k := range n {
				sum[by] += k
			}
			total := float64(n[ByNeedle] + n[ByPeaks] + n[ByLamp])
			share := 100 * float64(n[ByPeaks]+n[ByLamp]) / total
			t.Logf("step %2d, %-8s peaks %2d, lamp %2d of %3.0f: %3.0f %%, want %2.0f (mean under-read %.1f dB)", level, f, n[ByPeaks], n[ByLamp], total, share, peaksDecide[f], under[cell{level, f}])
			if math.Abs(share-peaksDecide[f]) > 6 {
				t.Errorf("step %d, %s: the peaks decide %.0f %%, want %.0f within 6", level, f, share, peaksDecide[f])
			}
		}
		total := sum[ByNeedle] + sum[ByPeaks] + sum[ByLamp]
		t.Logf("step %2d: needle %.0f %%, peaks %.0f %%, lamp %.0f %%", level, pct(sum[ByNeedle], total), pct(sum[ByPeaks], total), pct(sum[ByLamp], total))
		if p := pct(sum[ByNeedle], total); p < 50 || p > 65 {
			t.Errorf("step %d: the needle decides %.0f %%, want 50 to 65", level, p)
		}
		if sum[ByPeaks]*12 < total || sum[ByLamp]*12 < total {
			t.Errorf("step %d: the peaks decide %d, the lamp %d of %d rounds, want one in twelve each", level, sum[ByPeaks], sum[ByLamp], total)
		}
	}
}

// standing are the rigs that rounds are drawn on: references of -20 (SMPTE RP
// 155), -18 (EBU R 68), -16 and -14 dBFS (common practice) with ceilings of -6,
// -3 and -1 dBFS, as far as they leave 9 dB; and tape.
var standing = []string{
	"digital:reference=-20,ceiling=-6", "digital:reference=-20", "digital:reference=-20,ceiling=-1",
	"digital:ceiling=-6", "digital", "digital:ceiling=-1",
	"digital:reference=-16,ceiling=-6", "digital:reference=-16", "digital:reference=-16,ceiling=-1",
	"digital:reference=-14", "digital:reference=-14,ceiling=-1",
	"tape",
}

// checkAim sweeps the fader of a round in steps of 0.1 dB, a little past either end of the
// window and in every tenth round 6 dB from the aim, and looks at the
// samples that the desk sends to the medium. (Of rounds on tape, whose damage takes long to
// work out, every fourth is swept and judged.) The middle of what is in the window
// is the aim. On a digital rig the highest sample at the window's top is not over
// the ceiling; at the aim either the needle reads the target and the peaks keep
// the margin, or the peaks are just at the margin and the needle below the
// target. On tape, where the lamp decides, it is neither dark nor lit at the aim.
func checkAim(t *testing.T, e *Exercise) {
	s, r := e.Channels[0], e.Rig
	id := fmt.Sprintf("seed %d, index %d, step %d, %s, %s", e.Seed, e.Index, e.Level, s.Sound.Kind, r)
	lo, hi, reach := math.NaN(), math.NaN(), 10*e.Rig.ToleranceDB+5
	if e.Index%10 == 0 {
		reach = 60
	}
	swept := !r.Soft() || e.Index%4 == 0
	for k := math.Round(10*s.AimDB) - reach; swept && k <= math.Round(10*s.AimDB)+reach; k++ {
		v, err := e.Judge(Take{Moves: []Move{{To: k / 10}}, LockAt: 1})
		if err != nil {
			t.Errorf("%s: %v", id, err)
			return
		}
		if v.InWindow {
			if math.IsNaN(lo) {
				lo = k / 10
			}
			hi = k / 10
		}
	}
	if swept && (!(math.Abs((lo+hi)/2-s.AimDB) <= 0.05) || hi-lo < 2*min(e.Rig.ToleranceDB, 1.5)-0.051 || hi-lo > 2*e.Rig.ToleranceDB+0.051) {
		t.Errorf("%s: the aim is %.2f, and %.1f to %.1f dB are in the window", id, s.AimDB, lo, hi)
	}
	peak, reading := 0.0, math.Inf(-1)
	for _, ch := range s.Sound.Channels {
		reading = max(reading, meter.ReadLoop(ch, audio.Rate).Reading)
		for _, x := range ch {
			peak = max(peak, math.Abs(float64(x)))
		}
	}
	gain := s.StartGainDB + s.AimDB
	peaks, needle := 20*math.Log10(peak)+gain, reading+gain-r.ReferenceDBFS-r.TargetVU
	if !r.Soft() {
		margin := math.Max(3, e.Rig.ToleranceDB)
		if top := peaks + hi - s.AimDB; top > r.CeilingDBFS+1e-3 {
			t.Errorf("%s: at the window's top the peaks are at %.3f dBFS", id, top)
		}
		room := r.CeilingDBFS - margin - peaks
		if needle > 0.01 || room < -0.01 || math.Min(-needle, room) > 0.01 {
			t.Errorf("%s: at the aim the needle is %.2f dB over the target, and the peaks have %.2f dB beyond the margin", id, needle, room)
		}
		return
	}
	if needle > 0.01 || e.DecidedBy == ByNeedle && math.Abs(needle) > 0.01 {
		t.Errorf("%s: at the aim the needle is %.2f dB over the target", id, needle)
	}
	if !swept {
		return
	}
	v, err := e.Judge(Take{Moves: []Move{{To: s.AimDB}}, LockAt: 1})
	if err != nil || e.DecidedBy == ByLamp && v.Zone != ZoneSparing {
		t.Errorf("%s: at the aim the lamp is %s: %v", id, v.Zone, err)
	}
}

// A tolerance of more than 3 dB widens the margin with it: the window's top does
// not pass the ceiling then either.
func TestWideTolerance(t *testing.T) {
	decided := 0
	for i := range 8 {
		e, err := NewExercise(SetTake, 3, i, 1, Settings{Family: source.Struck, ToleranceDB: 5})
		if err != nil {
			t.Fatal(err)
		}
		checkAim(t, e)
		if e.DecidedBy == ByPeaks {
			decided++
		}
	}
	if decided == 0 {
		t.Error("the peaks decide none of the rounds; the test is for some that they do")
	}
}

func pct(n, of int) float64 { return 100 * float64(n) / float64(of) }
