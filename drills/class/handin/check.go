package handin

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strings"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/drills"
)

// Kind is how bad a finding is.
type Kind string

// The kinds, worst first.
const (
	Damaged Kind = "damaged" // it cannot be read, or is no hand-in
	Changed Kind = "changed" // something in it does not fit the rest
	Doubt   Kind = "doubt"   // it fits, but is worth a question
)

// Finding is one thing that a check found.
type Finding struct {
	Kind  Kind
	Round int           // from 1; 0: not of one round
	Field string        // as the file names it
	Says  said.Sentence // one sentence, without its full stop
}

// String is the finding as a line.
func (f Finding) String() string {
	where := ""
	if f.Round > 0 {
		where = fmt.Sprintf("round %d: ", f.Round)
	}
	return string(f.Kind) + ": " + where + f.Says.String()
}

// MarshalJSON gives the finding as command output carries it.
func (f Finding) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Kind  Kind   `json:"kind"`
		Round int    `json:"round,omitempty"`
		Field string `json:"field,omitempty"`
		Says  string `json:"says"`
	}{f.Kind, f.Round, f.Field, f.Says.String()})
}

// Unreadable is the finding of a file that cannot be read.
func Unreadable(err error) Finding {
	return Finding{Kind: Damaged, Says: said.Plain(strings.TrimPrefix(err.Error(), "hand-in: "))}
}

// Worst returns the worst kind among findings, or "" if there are none.
func Worst(list []Finding) Kind {
	worst := Kind("")
	for _, f := range list {
		switch {
		case f.Kind == Damaged:
			return Damaged
		case f.Kind == Changed, worst == "":
			worst = f.Kind
		}
	}
	return worst
}

// Result is a hand-in with what its check found.
type Result struct {
	HandIn   *HandIn   // nil if it cannot be read
	Findings []Finding // none: it checks clean

	// Verdicts are worked out again, sentences and all, one for each take. That of
	// a take that cannot be judged is zero.
	Verdicts []drills.Verdict
}

// Sound reports whether the hand-in can be read and nothing in it was changed;
// there may be doubts.
func (r Result) Sound() bool { return r.HandIn != nil && cmp.Or(Worst(r.Findings), Doubt) == Doubt }

// findings are collected.
type findings []Finding

func (l *findings) add(kind Kind, round int, field string, says said.Sentence) {
	*l = append(*l, Finding{kind, round, field, says})
}

// Check reads a hand-in and replays it.
func (c *RoundCache) Check(data []byte) Result {
	h, err := Read(data)
	if err != nil {
		return Result{Findings: []Finding{Unreadable(err)}}
	}
	return c.Replay(h)
}

// Replay judges all takes of a hand-in again and compares. See the package for
// what a clean check proves.
func (c *RoundCache) Replay(h *HandIn) Result {
	r := Result{HandIn: h}
	list := (*findings)(&r.Findings)
	if code, err := h.Sheet.Code(); err != nil || code != h.Code {
		list.add(Changed, 0, "code", said.New("finding.code", "its class code %s is not that of its sheet, %s: the sheet was swapped or changed", h.Code, code))
	}
	h.checkSeals(list)
	v := c.series(h.Sheet)
	if v.err != nil {
		list.add(Changed, 0, "sheet", said.Plain(v.err.Error()))
		return r
	}
	if h.Sheet.Recorded {
		if err := v.round(0).err; err != nil { // once, not for each take
			list.add(Damaged, 0, "sheet", said.New("finding.recordings", "its takes cannot be checked: %v", err))
			return r
		}
	}
	straight := 0
	for i, t := range h.Takes {
		verdict, err := v.round(t.Index()).judge(t.Take)
		r.Verdicts = append(r.Verdicts, verdict)
		if err != nil {
			list.add(Changed, i+1, "moves", said.New("finding.take", "its take cannot be judged: %v", err))
			continue
		}
		if t.straight(verdict) {
			straight++
		}
		if h.Sheet.Exam { // whose takes have no verdict to compare
			continue
		}
		verdict.Headline, verdict.Reason = "", ""
		for _, d := range differences(t.Verdict, verdict) {
			list.add(Changed, i+1, "verdict."+d.field, said.New("finding.verdict", "the verdict says %s %v, but the moves give %v; it was judged by %q, here by %q", d.field, fmt.Sprint(d.a), fmt.Sprint(d.b), h.Program, Program()))
		}
	}
	h.doubts(list, v)
	if n := len(h.Takes); straight >= 4 && straight*2 > n {
		list.add(Doubt, 0, "moves", said.New("finding.straight", "in %d of %d rounds the fader went to the aim within 0.1 dB in one or two moves", straight, n))
	}
	return r
}

// straight reports whether the fader went to the aim in one or two moves, as of
// somebody who knew where it is.
func (t Take) straight(v drills.Verdict) bool {
	return t.Number == nil && t.Choice == nil && len(t.Moves) <= 2 && math.Abs(v.ErrorDB) < 0.15
}

// checkSeals names what was changed after it was sealed.
func (h *HandIn) checkSeals(list *findings) {
	headSeal, each, seal, err := h.seals()
	if err != nil {
		list.add(Changed, 0, "seal", said.New("finding.unsealed", "it cannot be sealed: %v", err))
		return
	}
	parts := false
	if h.HeadSeal != headSeal {
		parts = true
		list.add(Changed, 0, "head_seal", said.New("finding.head", "something above the takes was changed after it was written (name, code, sheet, program or times)"))
		// The takes are sealed with the head's seal; look at each with the one it has.
		if each, err = takeSeals(h.HeadSeal, h.Takes); err != nil {
			return
		}
	}
	for i, t := range h.Takes {
		if t.Seal != each[i] {
			parts = true
			list.add(Changed, i+1, "seal", said.New("finding.take_changed", "its take was changed after it was written"))
		}
	}
	if !parts && h.Seal != seal {
		list.add(Changed, 0, "seal", said.New("finding.left_out", "takes were left out or the seal was changed after it was written"))
	}
}

// doubts looks for what is possible but worth a question.
func (h *HandIn) doubts(list *findings, s *series) {
	if !h.Complete() {
		list.add(Doubt, 0, "takes", said.New("finding.unfinished", "it is unfinished: %d of %d rounds", len(h.Takes), h.Sheet.Rounds))
	}
	var frames int64
	for i, t := range h.Takes {
		frames += t.LockAt
		r := s.round(t.Index())
		if lock := float64(t.LockAt) / audio.Rate; r.err == nil && r.exercise.Seconds > 0 && lock > r.exercise.Seconds+1 {
			list.add(Doubt, i+1, "lock_at", said.New("finding.late_lock", "it was locked after %.1f s; the sheet allows %g s", lock, r.exercise.Seconds))
		}
	}
	if played, took := float64(frames)/audio.Rate, h.Ended.Sub(h.Began).Seconds(); played > took+5 {
		list.add(Doubt, 0, "ended", said.New("finding.clock", "its takes last %.0f s, but it was made in %.0f s: the clock was set, or nobody listened", played, took))
	}
}

// Times are the doubts of a hand-in whose own times do not fit those of the class
// server: when it arrived, and when its sheet was opened.
func (h *HandIn) Times(arrived, opened time.Time) []Finding {
	const minutes = 2 // that clocks of a class may differ
	const late = 12   // hours from the end to the arrival that are worth a word
	var list findings
	when := func(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") }
	switch after := arrived.Sub(h.Ended); {
	case after < -minutes*time.Minute:
		list.add(Doubt, 0, "ended", said.New("finding.ahead", "by its own clock it ended on %s, but it had arrived on %s: that clock was wrong", when(h.Ended), when(arrived)))
	case after > late*time.Hour:
		list.add(Doubt, 0, "ended", said.New("finding.behind", "by its own clock it ended on %s and arrived on %s: it was kept a long time, or that clock was wrong", when(h.Ended), when(arrived)))
	}
	if opened.Sub(h.Began) > minutes*time.Minute {
		list.add(Doubt, 0, "began", said.New("finding.before", "by its own clock it was started on %s, before its sheet was opened on %s", when(h.Began), when(opened)))
	}
	return list
}

// difference is one field in which two verdicts differ.
type difference struct {
	field string
	a, b  any
}

// How far the figures of a verdict may differ between machines, whose processors
// round sums of products in ways of their own: levels by a tenth of a decibel,
// below which nothing is scored, and points by what that makes of them; counts of
// samples by one; all by 0.1 %.
const (
	nearDB       = 0.1
	nearPoints   = 4
	nearCount    = 1
	nearRelative = 0.001
)

// differences lists the fields in which two verdicts differ: figures by more than
// they may, all else at all.
func differences(a, b drills.Verdict) []difference {
	var list []difference
	x, y := reflect.ValueOf(a), reflect.ValueOf(b)
	for i := range x.NumField() {
		f, g := x.Field(i), y.Field(i)
		name, _, _ := strings.Cut(x.Type().Field(i).Tag.Get("json"), ",")
		alike := reflect.DeepEqual(f.Interface(), g.Interface())
		switch {
		case name == "share_in_window":
			alike = near(f.Float(), g.Float(), nearRelative)
		case f.CanFloat():
			alike = near(f.Float(), g.Float(), nearDB)
		case name == "points":
			alike = near(float64(f.Int()), float64(g.Int()), nearPoints)
		case name == "clipped_samples":
			alike = near(float64(f.Int()), float64(g.Int()), nearCount)
		}
		if !alike {
			list = append(list, difference{name, f.Interface(), g.Interface()})
		}
	}
	return list
}

// near reports whether two figures are the same but for a quantum and for
// nearRelative of the greater.
func near(a, b, quantum float64) bool {
	return math.Abs(a-b) <= quantum+nearRelative*max(math.Abs(a), math.Abs(b))+1e-9
}
