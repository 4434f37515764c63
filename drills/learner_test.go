package drills

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
)

// listen returns what somebody sees who leaves the fader at a setting for a
// turn of the loop: the needle's top in VU, and the lamp's flicks in the busiest
// three seconds.
func listen(t *testing.T, r *Exercise, fader float64) (needle float64, flicks int) {
	t.Helper()
	c := r.Desk(0)
	c.Channels[0].FaderDB = fader
	turn := int64(r.Channels[0].Sound.Len())
	needle = math.Inf(-1)
	var lit []int64
	last := 0
	if _, err := desk.Watch(c, nil, 2*turn, func(s desk.Snapshot) {
		if s.At > turn {
			needle = max(needle, s.NeedleDBFS[0]-r.Rig.ReferenceDBFS)
			if s.Flicks > last {
				lit = append(lit, s.At)
			} else if s.Lit && len(lit) == 0 {
				lit = append(lit, s.At)
			}
		}
		last = s.Flicks
	}); err != nil {
		t.Fatal(err)
	}
	for i := range lit {
		n := 0
		for _, at := range lit[i:] {
			if at < lit[i]+CountSeconds*audio.Rate {
				n++
			}
		}
		flicks = max(flicks, n)
	}
	return needle, flicks
}

// A round can be solved by what is to be seen: a learner who knows nothing but
// the rig, the needle and the lamp ends in the window or near it. They bring the
// needle to the target, look for where the lamp begins to light, and take the
// lower of what the two say.
func TestSolvedByEye(t *testing.T) {
	tape := TapeRig()
	total, n := 0, 0
	for _, f := range source.Generated() {
		for index, rig := range []*Rig{nil, &tape} {
			r, err := plain(77, index, Settings{Family: f, Rig: rig})
			if err != nil {
				t.Fatal(err)
			}
			const first = -12.0
			needle, _ := listen(t, r, first)
			setting := first + r.Rig.TargetVU - needle
			dark, lit := desk.FaderMin, desk.FaderMax
			for lit-dark > 0.25 {
				middle := (dark + lit) / 2
				if _, flicks := listen(t, r, middle); flicks == 0 {
					dark = middle
				} else {
					lit = middle
				}
			}
			if !r.Rig.Soft() {
				setting = min(setting, dark+r.Rig.CeilingDBFS-r.Rig.LampDBFS)
			} else if setting > dark {
				by := dark
				for by+0.5 < setting {
					if _, flicks := listen(t, r, by+0.5); flicks > CountSeconds {
						break
					}
					by += 0.5
				}
				setting = min(setting, by)
			}
			v := judge(t, r, Take{Moves: []Move{{To: min(max(setting, desk.FaderMin), desk.FaderMax)}}, LockAt: 1})
			t.Logf("%s, %s, %s: %d points, %s", f, r.Channels[0].Sound.Kind, r.Rig, v.Points, v.Headline)
			if v.Points < 50 {
				t.Errorf("%s, %s, %s: %d points: %s %s", f, r.Channels[0].Sound.Kind, r.Rig, v.Points, v.Headline, v.Reason)
			}
			total += v.Points
			n++
		}
	}
	if mean := float64(total) / float64(n); mean < 90 {
		t.Errorf("%.0f points on average, want at least 90", mean)
	}
}
