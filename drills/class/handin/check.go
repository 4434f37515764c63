package handin

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"strings"

	"slowneedle/audio"
	"slowneedle/drills"
)

// Kind says how bad a finding is.
type Kind string

// The kinds, worst first.
const (
	Damaged Kind = "damaged" // it cannot be read, or is no hand-in
	Changed Kind = "changed" // something in it does not fit the rest
	Doubt   Kind = "doubt"   // it fits, but is worth a question
)

// Finding is one thing that a check found.
type Finding struct {
	Kind  Kind   `json:"kind"`
	Round int    `json:"round,omitempty"` // from 1; 0: not of one round
	Field string `json:"field,omitempty"` // as the file names it
	Says  string `json:"says"`            // one sentence
}

// String is the finding as a line.
func (f Finding) String() string {
	where := ""
	if f.Round > 0 {
		where = fmt.Sprintf("round %d: ", f.Round)
	}
	return string(f.Kind) + ": " + where + f.Says
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

	// Verdicts are what the program says now of each take, sentences and all;
	// as many as takes that can be judged.
	Verdicts []drills.Verdict
}

// Sound reports whether the hand-in can be read and nothing in it was changed;
// there may be doubts.
func (r Result) Sound() bool { return r.HandIn != nil && cmp.Or(Worst(r.Findings), Doubt) == Doubt }

// Check reads a hand-in, judges all its takes anew and compares. See the package
// for what a clean check proves.
func (c *RoundCache) Check(data []byte) Result {
	h, err := Read(data)
	if err != nil {
		return Result{Findings: []Finding{{Kind: Damaged, Says: strings.TrimPrefix(err.Error(), "hand-in: ")}}}
	}
	r := Result{HandIn: h}
	add := func(kind Kind, round int, field, format string, a ...any) {
		r.Findings = append(r.Findings, Finding{kind, round, field, fmt.Sprintf(format, a...)})
	}
	if code, err := h.Sheet.Code(); err != nil || code != h.Code {
		add(Changed, 0, "code", "its class code %s is not that of its sheet, %s: the sheet was swapped or changed", h.Code, code)
	}
	h.checkSeals(add)
	v, err := c.series(h.Sheet)
	if err != nil {
		add(Changed, 0, "sheet", "%v", err)
		return r
	}
	for i, t := range h.Takes {
		verdict, err := v.judge(i, t.Played())
		if err != nil {
			add(Changed, i+1, "moves", "its take cannot be judged: %v", err)
			continue
		}
		r.Verdicts = append(r.Verdicts, verdict)
		bare := verdict
		bare.Headline, bare.Reason = "", ""
		for _, d := range differences(t.Verdict, bare) {
			add(Changed, i+1, "verdict."+d.field, "the verdict says %s %v, but the moves give %v%s", d.field, d.a, d.b, h.otherProgram())
		}
	}
	h.doubts(add, v, r.Verdicts)
	return r
}

// otherProgram is a hint for a verdict that differs: another version may judge
// otherwise.
func (h *HandIn) otherProgram() string {
	if here := Program(); h.Program != here {
		return fmt.Sprintf(" (judged by %q, here by %q)", h.Program, here)
	}
	return ""
}

// checkSeals names what was changed after it was sealed.
func (h *HandIn) checkSeals(add func(Kind, int, string, string, ...any)) {
	f := file{head: h.head(), Takes: h.Takes}
	headSeal, each, seal, err := seals(f)
	if err != nil {
		add(Changed, 0, "seal", "it cannot be sealed: %v", err)
		return
	}
	parts := false
	if h.headSeal != headSeal {
		parts = true
		add(Changed, 0, "head_seal", "something above the takes was changed after it was written (name, code, sheet, program or times)")
		// The takes are sealed with the head's seal; look at each with the one it has.
		if each, err = takeSeals(h.headSeal, h.Takes); err != nil {
			return
		}
	}
	for i, t := range h.Takes {
		if t.Seal != each[i] {
			parts = true
			add(Changed, i+1, "seal", "its take was changed after it was written")
		}
	}
	if !parts && h.seal != seal {
		add(Changed, 0, "seal", "takes were left out or the seal was changed after it was written")
	}
}

// doubts looks for what is possible but worth a question.
func (h *HandIn) doubts(add func(Kind, int, string, string, ...any), s *series, verdicts []drills.Verdict) {
	if !h.Complete() {
		add(Doubt, 0, "takes", "it is unfinished: %d of %d rounds", len(h.Takes), h.Sheet.Rounds)
	}
	var frames int64
	for i, t := range h.Takes {
		frames += t.LockAt
		e, err := s.exercise(i)
		if lock := float64(t.LockAt) / audio.Rate; err == nil && e.Seconds > 0 && lock > e.Seconds+1 {
			add(Doubt, i+1, "lock_at", "it was locked after %.1f s; the sheet allows %g s", lock, e.Seconds)
		}
	}
	if played, took := float64(frames)/audio.Rate, h.Ended.Sub(h.Began).Seconds(); played > took+5 {
		add(Doubt, 0, "ended", "its takes last %.0f s, but it was made in %.0f s: the clock was set, or nobody listened", played, took)
	}
	at := 0
	for i, v := range verdicts {
		if t := h.Takes[i]; t.Number != nil || t.Choice != nil {
			continue
		}
		if math.Abs(v.ErrorDB) < 0.15 && len(h.Takes[i].Moves) <= 2 {
			at++
		}
	}
	if at >= 4 && at*2 > len(verdicts) {
		add(Doubt, 0, "moves", "in %d of %d rounds the fader went to the aim within 0.1 dB in one or two moves", at, len(verdicts))
	}
}

// difference is one field in which two verdicts differ.
type difference struct {
	field string
	a, b  any
}

// near is how far levels may differ between machines, in dB.
const near = 0.01

// differences lists the fields in which two verdicts differ: levels by more than
// 0.01 dB, all else at all.
func differences(a, b drills.Verdict) []difference {
	var list []difference
	compare("", reflect.ValueOf(a), reflect.ValueOf(b), &list)
	return list
}

func compare(name string, a, b reflect.Value, list *[]difference) {
	differ := func() { *list = append(*list, difference{name, a.Interface(), b.Interface()}) }
	switch a.Kind() {
	case reflect.Struct:
		for i := range a.NumField() {
			f := a.Type().Field(i)
			inner, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			compare(strings.TrimPrefix(name+"."+cmp.Or(inner, f.Name), "."), a.Field(i), b.Field(i), list)
		}
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			differ()
			return
		}
		for i := range a.Len() {
			compare(fmt.Sprintf("%s[%d]", name, i), a.Index(i), b.Index(i), list)
		}
	case reflect.Pointer:
		if a.IsNil() || b.IsNil() {
			if a.IsNil() != b.IsNil() {
				differ()
			}
			return
		}
		compare(name, a.Elem(), b.Elem(), list)
	case reflect.Float32, reflect.Float64:
		if !(math.Abs(a.Float()-b.Float()) <= near+1e-9) {
			differ()
		}
	default:
		if !reflect.DeepEqual(a.Interface(), b.Interface()) {
			differ()
		}
	}
}
