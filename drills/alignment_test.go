package drills

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
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
		if v := judged(t, e, take); v.Code != codeAlignIn || v.Points != 100 {
			t.Errorf("step %d: shown: %s %s", level, v.Headline, v.Reason)
		}
		back := take
		back.Moves = append(append([]Move(nil), take.Moves...), Move{At: take.LockAt, Control: 2, To: e.Stages[0].Aim})
		if v := judged(t, e, back); v.Code != codeAlignOrder || v.InWindow || !strings.Contains(v.Reason, "console was moved again after the") {
			t.Errorf("step %d: the console once more: %s %s", level, v.Headline, v.Reason)
		}
		hot := take
		hot.Moves = append(append([]Move(nil), take.Moves...), Move{At: take.LockAt, Control: 1 + len(e.Stages) + 0, To: min(e.Stages[len(e.Stages)-1].Aim+3, 30)})
		if v := judged(t, e, hot); v.InWindow || v.Code != codeAlignHot || v.Part != e.Stages[len(e.Stages)-1].Label {
			t.Errorf("step %d: the last 3 dB too high: %s %s", level, v.Code, v.Reason)
		}
	}
}

// What a wrong step costs later is what the recorder's needle reads once the console
// stands at its mark, as the desk itself has it, and playback likewise; and 0 VU where the
// references differ is called what it is. 185 and 320 nWb/m are 4.76 dB apart, 200 and 250
// are 1.94 (20 log of their ratio).
func TestAlignmentCosts(t *testing.T) {
	seen := map[Code]int{}
	for i, level := range []int{1, 4, 8, 11, 14, 18, ladder.Top} {
		e := exercise(t, Alignment, 7+uint64(i), level)
		for k, s := range e.Stages {
			for _, off := range []float64{2, -2, math.NaN()} { // the last: to 0 VU whatever is asked for
				x := e.rule.(alignRule)
				if math.IsNaN(off) {
					if off = -x.targets[k]; off == 0 {
						continue
					}
				}
				take := e.ShowMe()
				// Set the step wrong, and what is behind it by its needle.
				set := make([]float64, len(e.Stages))
				for n, c := range e.Stages {
					set[n] = c.Aim
					if n == k {
						set[n] += off
					} else if c.From == len(e.Channels)+k {
						set[n] -= off
					}
				}
				last := Take{LockAt: take.LockAt}
				for n, to := range set {
					last.Moves = append(last.Moves, Move{At: int64(n), Control: len(e.Channels) + n, To: e.Stages[n].Settle(to)})
				}
				v := judged(t, e, last)
				seen[v.Code]++
				// The takes that follow: the console at its mark, by the desk's own meters.
				c := e.Desk(0)
				c.ChannelMeters = true
				for n := range e.Stages {
					c.Channels[len(e.Channels)+n].FaderDB = e.Setting(last, len(e.Channels)+n)
				}
				end := k
				if s.From < len(e.Channels) && k == 0 {
					c.Channels[0].StartGainDB -= off
					end = 1
				}
				d, err := desk.New(c)
				if err != nil {
					t.Fatal(err)
				}
				d.Pull(make([]float32, 4*audio.Rate))
				m, _ := d.ChannelAt(len(e.Channels)+end, d.Position())
				later := m.NeedleDBFS - e.Rig.ReferenceDBFS - x.targets[end]
				way := "hot"
				if later < 0 {
					way = "low"
				}
				if want := fmt.Sprintf("every take after it is %.1f dB too %s.", math.Abs(v.LaterDB), way); math.Abs(later-v.LaterDB) > 0.15 || !strings.HasSuffix(v.Reason, want) {
					t.Errorf("step %d, %s %.1f dB off: takes come out %.2f dB too hot: %s", level, s.Label, off, later, v.Reason)
				}
				if (v.Code == codeAlignReference) != (x.targets[k] != 0 && math.Abs(x.targets[k]+off) < e.Rig.ToleranceDB+0.05) {
					t.Errorf("step %d, %s %.1f dB off, where %.1f VU is asked for: %s", level, s.Label, off, x.targets[k], v.Reason)
				}
			}
		}
	}
	if seen[codeAlignReference] < 5 || seen[codeAlignHot] < 10 || seen[codeAlignCold] < 10 {
		t.Errorf("the takes came to %v", seen)
	}
	// A recorder that was left as it was behind a console too hot evens it out.
	e := exercise(t, Alignment, 7, 1)
	take := Take{LockAt: 10, Moves: []Move{{Control: 2, To: e.Stages[0].Settle(e.Stages[0].Aim + 2)}, {Control: 3, To: e.Stages[1].Aim}}}
	if v := judged(t, e, take); v.LaterDB != 0 || v.Code != codeAlignHot || !strings.Contains(v.Reason, "what follows makes up for it") {
		t.Errorf("console and recorder 2 dB high: %s", v.Reason)
	}
}

var (
	dBuAsked  = regexp.MustCompile(`console to 0 dBu`)
	dBVAsked  = regexp.MustCompile(`console to −10 dBV`)
	dBFSAsked = regexp.MustCompile(`its 0 VU is (\S+) dBFS, and the session was lined up at (\S+) dBFS`)
	fluxAsked = regexp.MustCompile(`tape of (\d+) nWb/m on a machine whose 0 VU is (\d+) nWb/m`)
)

// What each step is to read follows from the words of the task and the definitions: 0 VU is
// +4 dBu, 1.228 V (IEC 60268-17); 0 dBV is 1 V; levels on tape go with the flux, 20 log10 of
// its ratio. How closely is a sixth of the step's tolerance (3 dB at the first), at least a
// tenth, and one tenth more is wrong.
func TestAlignmentAsks(t *testing.T) {
	level := func(text string) float64 {
		v, err := strconv.ParseFloat(strings.Replace(text, "−", "-", 1), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	seen := map[string]int{}
	for i := range 60 {
		e := exercise(t, Alignment, uint64(300+i), []int{1, 6, 10, 13, 17, 20}[i%6])
		task := e.Task.String()
		want := map[string]float64{}
		if dBuAsked.MatchString(task) {
			want["console"] = -4
		}
		if dBVAsked.MatchString(task) {
			want["console"] = 20 * math.Log10(math.Pow(10, -10.0/20)/1.228)
		}
		if m := dBFSAsked.FindStringSubmatch(task); m != nil {
			want["recorder"] = level(m[2]) - level(m[1])
			if want["recorder"] == 0 || level(m[1]) != e.Rig.ReferenceDBFS {
				t.Errorf("step %d: %q on a recorder with 0 VU at %v dBFS", e.Level, task, e.Rig.ReferenceDBFS)
			}
		}
		if m := fluxAsked.FindStringSubmatch(task); m != nil {
			want["playback"] = 20 * math.Log10(level(m[1])/level(m[2]))
			if m[1] == m[2] {
				t.Errorf("step %d: %q: the references are the same", e.Level, task)
			}
		}
		want["left"], want["right"] = want["recorder"], want["recorder"]
		x := e.rule.(alignRule)
		for k, s := range e.Stages {
			seen[s.Label]++
			if math.Abs(x.targets[k]-want[s.Label]) > 0.06 {
				t.Errorf("step %d: the %s is to read %.2f VU, want %.2f: %s", e.Level, s.Label, x.targets[k], want[s.Label], task)
			}
		}
		within := map[int]float64{1: 0.5, 6: 0.3, 10: 0.2, 13: 0.2, 17: 0.1, 20: 0.1}[e.Level]
		last := len(e.Stages) - 1
		for _, off := range []float64{within, -within, within + 0.1, -within - 0.1} {
			take := e.ShowMe()
			take.Moves = append(take.Moves, Move{At: take.LockAt, Control: 2 + last, To: e.Stages[last].Aim + off})
			if v := judged(t, e, take); v.InWindow != (math.Abs(off) <= within) {
				t.Errorf("step %d: the last step %.1f dB off: %s", e.Level, off, v.Headline)
			}
		}
	}
	if len(seen) != 5 {
		t.Errorf("only %v were asked for", seen)
	}
}

// The order counts apart from what is read: a console that is touched once more costs half the
// points, right or wrong; one step that was never come to is no matter of order.
func TestAlignmentOrder(t *testing.T) {
	e := exercise(t, Alignment, 7, 1)
	right := e.ShowMe()
	again := func(to float64) Verdict {
		take := right
		take.Moves = append(append([]Move(nil), right.Moves...), Move{At: right.LockAt, Control: 2, To: e.Stages[0].Settle(to)})
		return judged(t, e, take)
	}
	if v := again(e.Stages[0].Aim); v.Code != codeAlignOrder || v.Points != 50 || v.InWindow {
		t.Errorf("the console touched again and right: %s, %d points", v.Code, v.Points)
	}
	if v := again(e.Stages[0].Aim + 6); v.Code != codeAlignOrder || v.Points >= 50 {
		t.Errorf("the console touched again and wrong: %s, %d points", v.Code, v.Points)
	}
	// Two tracks do not feed each other, nor the playback of a tape: to go back to one is no
	// matter of order.
	pair := exercise(t, Alignment, 7, 20)
	for k, s := range pair.Stages[1:] {
		take := pair.ShowMe()
		take.Moves = append(take.Moves, Move{At: take.LockAt, Control: 3 + k, To: s.Aim})
		if v := judged(t, pair, take); v.Code != codeAlignIn || v.Points != 100 {
			t.Errorf("the %s touched again: %s %s", s.Label, v.Headline, v.Reason)
		}
	}
	half := right
	half.Moves = nil
	for _, m := range right.Moves {
		if m.Control == 2 {
			half.Moves = append(half.Moves, m)
		}
	}
	if v := judged(t, e, half); v.Code == codeAlignOrder || v.Part != e.Stages[1].Label || v.InWindow {
		t.Errorf("the recorder not come to: %s %s", v.Code, v.Part)
	}
}
