package client

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"slowneedle/audio/said"
)

// Refusal is what a server answers with when it will not do something: a
// sentence in English and, where a learner may read it, its code and what stands
// in it, so that the learner's program can say it in another language.
type Refusal struct {
	Error string `json:"error"`
	Code  string `json:"code,omitempty"`
	Args  []any  `json:"args,omitempty"` // numbers and text
}

// RefusalFor is the answer for an error.
func RefusalFor(err error) Refusal {
	r := Refusal{Error: err.Error()}
	var f *said.Fault
	if !errors.As(err, &f) {
		return r
	}
	r.Code = f.Code
	for _, a := range f.Args {
		switch t := a.(type) {
		case int, int64, float64, string:
		case rune:
			a = string(t)
		default:
			a = fmt.Sprint(a)
		}
		r.Args = append(r.Args, a)
	}
	return r
}

// refusal is the error of a Refusal, or of an answer that is none.
func (a answer) refusal() error {
	var r Refusal
	if json.Unmarshal(a.body, &r) != nil || r.Error == "" {
		why := said.New("server.status", "it answers with status %d", a.status)
		return &Refused{a.status, why.String(), why}
	}
	why := said.New(r.Code, "%s", r.Error)
	why.Args = r.Args
	for i, arg := range why.Args {
		if n, ok := arg.(float64); ok && n == math.Trunc(n) {
			why.Args[i] = int64(n)
		}
	}
	return &Refused{a.status, r.Error, why}
}
