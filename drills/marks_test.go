package drills

import (
	"regexp"
	"strings"
	"testing"

	"slowneedle/audio/medium"
)

// On the programme meter's face a line-up speaks in that meter's marks. The marks are
// those of IEC 60268-10, type IIa: 4 is 0 dBu, 6 is +8 dBu, so that 0 VU, +4 dBu, reads
// 5 and +3 VU 5.75; of a rig's own target likewise.
func TestMarksOfTheProgrammeMeter(t *testing.T) {
	for _, c := range []struct {
		vu   float64
		mark string
	}{{0, "5"}, {-4, "4"}, {3, "5.75"}, {-6, "3.5"}, {-12, "2"}} {
		rig := DigitalRig()
		rig.TargetVU = c.vu
		e, err := NewExercise(LineUp, 1, 0, 1, Settings{Rig: &rig})
		if err != nil {
			t.Fatal(err)
		}
		task, solution := e.InMarks()
		if want := "exactly mark " + c.mark + " of"; !strings.Contains(task.String(), want) || strings.Contains(task.String(), "VU") {
			t.Errorf("%g VU: %q does not ask for mark %s", c.vu, task, c.mark)
		}
		if !strings.HasSuffix(solution.String(), " at "+c.mark+".") {
			t.Errorf("%g VU: %q does not name mark %s", c.vu, solution, c.mark)
		}
		v := judged(t, e, e.ShowMe()).InMarks()
		headline, reason := v.Sentences(English)
		if want := "The programme meter reads " + c.mark + "; the target was " + c.mark + "."; reason != want || headline != "Spot on." {
			t.Errorf("%g VU: %q %q, want Spot on and %q", c.vu, headline, reason, want)
		}
		for off := -1.0; off <= 1; off += 0.1 { // whichever meter is looked at, as far off
			v := judged(t, e, at(e.Channels[0].AimDB+off))
			vu, _ := v.Sentences(English)
			if marks, _ := v.InMarks().Sentences(English); marks != vu {
				t.Errorf("%g VU, %.1f dB off: %q in VU, %q in marks", c.vu, off, vu, marks)
			}
		}
		over := judged(t, e, at(min(e.Channels[0].AimDB+1, 12))).InMarks()
		for _, f := range e.Figures(over) {
			if f.Unit == UnitVU {
				t.Errorf("%g VU: the figure %q is in VU: %s", c.vu, f.Name, f)
			}
		}
	}
	far := judged(t, exercise(t, LineUp, 1, 1), Take{LockAt: 48000}).InMarks() // never moved
	if far.Code != codeStill {
		t.Errorf("a take that was never moved has the code %s in marks, want %s", far.Code, codeStill)
	}
	end := Verdict{Code: codeLineUpCold, Part: onlyTone, ReadingVU: -30}.InMarks()
	if _, reason := end.Sentences(English); !strings.Contains(reason, "reads less than 1;") {
		t.Errorf("-30 VU, below the scale: %q", reason)
	}
}

var asksLevel = regexp.MustCompile(`at (\S+) dBu`)

// Every task of a line-up at every step has its solution in marks: what is asked in
// dBu over four, and four.
func TestEveryLineUpHasMarks(t *testing.T) {
	asked := map[string]bool{}
	for index := range 60 {
		e, err := NewExercise(LineUp, 12, index, 12, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		task, solution := e.InMarks()
		asked[task.Code] = true
		if task.Code == "" || task.Code == e.Task.Code || solution.Code == e.Solution.Code {
			t.Errorf("%q is asked for as %q, want it in marks", e.Task, task)
		}
		want := mark((e.Rig.TargetVU+4)/4 + 4)
		if !strings.HasSuffix(solution.String(), " "+want+".") {
			t.Errorf("%q: %q, want mark %s", task, solution, want)
		}
		if m := asksLevel.FindStringSubmatch(e.Task.String()); m != nil && !strings.Contains(task.String(), m[1]+" dBu") {
			t.Errorf("%q asks for %s, %q for another", e.Task, m[1], task)
		}
	}
	if len(asked) != 4 {
		t.Errorf("%d of the four tasks came up: %v", len(asked), asked)
	}
}

// A needle past the ends of its scale, -20 to +3 VU (IEC 60268-17), stands at its stop:
// the figure of the verdict tells that and the level.
func TestReadingPastTheScale(t *testing.T) {
	for _, c := range []struct {
		vu   float64
		want string
	}{{8.2, "over +3 VU (+8.2)"}, {3.04, "+3.0 VU"}, {3.06, "over +3 VU (+3.1)"}, {-20, "-20.0 VU"}, {-29, "below −20 VU (−29.0)"}, {0, "+0.0 VU"}} {
		if got := needleFigure(Verdict{ReadingVU: c.vu}).String(); got != c.want {
			t.Errorf("%g VU is written %q, want %q", c.vu, got, c.want)
		}
	}
}

// On tape there is no ceiling: the whole desk speaks of the lamp there, before, in the
// verdict and after.
func TestWholeDeskOnTape(t *testing.T) {
	rig := TapeRig()
	e, err := NewExercise(WholeDesk, 2, 0, 1, Settings{Rig: &rig})
	if err != nil {
		t.Fatal(err)
	}
	if e.Rig.Medium != medium.KindTape {
		t.Fatalf("the medium is %s", e.Rig.Medium)
	}
	right := e.ShowMe()
	hot := e.ShowMe()
	for i := range e.Channels {
		hot.Moves = append(hot.Moves, Move{At: right.LockAt, Control: i, To: 12})
	}
	codes := map[Code]bool{}
	for _, take := range []Take{right, hot} {
		v := judged(t, e, take)
		codes[v.Code] = true
		headline, _ := v.Sentences(English)
		if headline != English["headline_desk_in"] && headline != English["headline_desk_over"] {
			t.Errorf("%s: the headline is %q", v.Code, headline)
		}
		for _, s := range []string{e.Task.String(), e.Solution.String(), v.Reason} {
			if strings.Contains(s, "ceiling") || strings.Contains(s, "dBFS") {
				t.Errorf("on tape: %q", s)
			}
		}
		if !strings.Contains(v.Reason, "lamp's threshold") {
			t.Errorf("on tape: %q", v.Reason)
		}
	}
	if !codes[codeDeskIn+onTape] || !codes[codeDeskHotOver+onTape] {
		t.Errorf("the takes came to %v", codes)
	}
}
