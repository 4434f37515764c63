package drills

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
)

// The desk that plays a round shows what the round says: its peak, its
// reading, and how often its lamp flicks, counted live over the second turn of
// the loop and the third.
func TestDeskShowsTheRound(t *testing.T) {
	tape := TapeRig()
	for _, f := range source.Generated() {
		for index, rig := range []*Rig{nil, &tape} {
			r, err := plain(31, index, Settings{Family: f, Rig: rig})
			if err != nil {
				t.Fatal(err)
			}
			fader := min(r.Channels[0].AimDB+0.5, desk.FaderMax)
			c := r.Desk(0)
			c.Channels[0].FaderDB = fader
			turn := int64(r.Channels[0].Sound.Len())
			peak, needle := math.Inf(-1), math.Inf(-1)
			var flicks []int64 // when
			last := 0
			if _, err := desk.Watch(c, nil, 3*turn, func(s desk.Snapshot) {
				if s.At > turn {
					peak = max(peak, s.PeakDBFS[0], s.PeakDBFS[1])
					needle = max(needle, s.NeedleDBFS[0], s.NeedleDBFS[1])
					for range s.Flicks - last {
						flicks = append(flicks, s.At)
					}
				}
				last = s.Flicks
			}); err != nil {
				t.Fatal(err)
			}
			if want := r.Channels[0].SamplePeakDBFS + fader; math.Abs(peak-want) > 0.01 {
				t.Errorf("%s %s: the desk peaks at %.3f dBFS, want %.3f", f, r.Rig, peak, want)
			}
			// The reading leaves out at most two unusual deflections.
			if want := r.Channels[0].ReadingVU + r.Rig.ReferenceDBFS + fader; needle < want-0.05 || needle > want+6 {
				t.Errorf("%s %s: the desk's needle reaches %.3f dBFS, and is read as %.3f", f, r.Rig, needle, want)
			}
			busiest := 0
			for i := range flicks {
				n := 0
				for _, at := range flicks[i:] {
					if at < flicks[i]+CountSeconds*audio.Rate {
						n++
					}
				}
				busiest = max(busiest, n)
			}
			v := judge(t, r, Take{Moves: []Move{{To: fader}}, LockAt: 1})
			if want := int(math.Round(v.FlicksPerS * CountSeconds)); busiest < want-1 || busiest > want+1 {
				t.Errorf("%s %s: the desk's lamp flicks %d times in its busiest three seconds, want %d", f, r.Rig, busiest, want)
			}
		}
	}
}
