package drills

import (
	"math"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills/ladder"
)

// What is asked is what the desk's own needles then read, at every step; and the
// verdict names the first step that was wrong.
func TestAlignment(t *testing.T) {
	for i, level := range []int{1, 4, 8, 11, 14, 18, ladder.Top} {
		e := exercise(t, Alignment, 7+uint64(i), level)
		take := e.ShowMe()
		c := e.Desk(0)
		c.ChannelMeters = true
		for k := range e.Stages {
			c.Channels[2+k].FaderDB = e.Setting(take, 2+k)
		}
		d, err := desk.New(c)
		if err != nil {
			t.Fatal(err)
		}
		d.Pull(make([]float32, 4*audio.Rate))
		x := e.rule.(alignRule)
		for k := range e.Stages {
			m, _ := d.ChannelAt(2+k, d.Position())
			if reads := m.NeedleDBFS - e.Rig.ReferenceDBFS; math.Abs(reads-x.targets[k]) > 0.15 {
				t.Errorf("step %d: stage %d reads %.2f VU, want %.2f", level, k, reads, x.targets[k])
			}
		}
		if v := judged(t, e, take); v.Code != CodeAlignIn || v.Points != 100 {
			t.Errorf("step %d: shown: %s %s", level, v.Headline, v.Reason)
		}
		back := take
		back.Moves = append(append([]Move(nil), take.Moves...), Move{At: take.LockAt, Control: 2, To: e.Stages[0].Aim})
		if v := judged(t, e, back); v.Code != CodeAlignOrder || v.InWindow || !strings.Contains(v.Reason, "console was moved again after the") {
			t.Errorf("step %d: the console once more: %s %s", level, v.Headline, v.Reason)
		}
		hot := take
		hot.Moves = append(append([]Move(nil), take.Moves...), Move{At: take.LockAt, Control: 1 + len(e.Stages) + 0, To: min(e.Stages[len(e.Stages)-1].Aim+2, 30)})
		if v := judged(t, e, hot); v.InWindow || v.Code != CodeAlignHot || v.Part != e.Stages[len(e.Stages)-1].Label {
			t.Errorf("step %d: the last 2 dB too high: %s %s", level, v.Code, v.Reason)
		}
	}
}
