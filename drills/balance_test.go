package drills

import (
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

// A trainer in which the needle always decides teaches the wrong lesson: over
// a thousand rounds needle and peaks (on tape, the lamp) decide about equally
// often, no family goes one way only, and about a quarter of rounds are tape.
func TestBalance(t *testing.T) {
	const n = 1000
	drawn := make([]*Exercise, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				r, err := plain(uint64(i/20), i%20, Settings{})
				if err != nil {
					t.Error(err)
					return
				}
				if zone := r.rule.(recorded).lampAt(r, r.Strips[0].AimDB).zone(); r.DecidedBy == ByLamp && zone != ZoneSparing {
					t.Errorf("seed %d, index %d: the lamp decided, and at the aim it is %s", r.Seed, r.Index, zone)
				}
				r.Strips, r.rule = nil, nil
				drawn[i] = r
			}
		})
	}
	wg.Wait()
	if t.Failed() {
		return
	}
	var needle, tape int
	families := make(map[source.Family][2]int)
	for _, r := range drawn {
		count := families[r.Family]
		if r.DecidedBy == ByNeedle {
			needle++
			count[0]++
		} else {
			count[1]++
		}
		families[r.Family] = count
		if r.Rig.Medium == medium.KindTape {
			tape++
		}
		if r.Rig.Medium == medium.KindDigital && (r.Rig.ReferenceDBFS < -20 || r.Rig.ReferenceDBFS > -14 ||
			r.Rig.CeilingDBFS < -10 || r.Rig.CeilingDBFS > -1) {
			t.Errorf("drew the rig %s", r.Rig)
		}
	}
	t.Logf("the needle decided %d of %d rounds, %d were on tape; needle and peaks by family: %v", needle, n, tape, families)
	if needle < n*45/100 || needle > n*55/100 {
		t.Errorf("the needle decided %d of %d rounds, want 45 to 55 %%", needle, n)
	}
	if tape < n*15/100 || tape > n*35/100 {
		t.Errorf("%d of %d rounds were on tape, want 15 to 35 %%", tape, n)
	}
	for _, f := range source.Generated() {
		// A steady source hides little: peaks decide it on few rigs.
		least := 25
		if f == source.Steady {
			least = 12
		}
		if c := families[f]; min(c[0], c[1])*100 < least*(c[0]+c[1]) {
			t.Errorf("%s: the needle decided %d rounds, the peaks %d", f, c[0], c[1])
		}
	}
}
