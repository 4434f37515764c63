// Package said holds sentences for people in English, each with a
// code and what stands in it, so that a screen can put the words of another
// language to them. The rooms that know what is wrong need not know in which
// language it is read.
//
//	err := said.Errorf("wav.empty", "the file is empty; record or export it again")
//	var f *said.Fault
//	errors.As(err, &f) // f.Code is "wav.empty"
package said

import (
	"fmt"
	"strings"
)

// Sentence is something that is said, or a part of it. String gives it in
// English.
type Sentence struct {
	// Code names the sentence in every language; one code is one sentence.
	Code string
	// Args stand in the places of the sentence, in order. Numbers come as
	// numbers or written out, as in "−3.5"; Sentences and errors stand for
	// themselves in the language that is asked for.
	Args []any

	english string
}

// New makes a sentence from its English, in which args stand as in fmt.Sprintf,
// and one or many as Numbered has it.
func New(code, english string, args ...any) Sentence {
	if strings.Contains(english, "|") {
		return Sentence{code, args, fmt.Sprintf(Numbered(english, args), args...)}
	}
	return Sentence{code, args, fmt.Sprintf(english, args...)}
}

// Plain makes a sentence of text that has no code: it is said as it is in every
// language.
func Plain(text string) Sentence { return Sentence{english: text} }

func (s Sentence) String() string { return s.english }

// Fault is a Sentence that is an error; errors.As finds it.
type Fault struct {
	Sentence
	err error
}

// Errorf makes a *Fault from its English, in which args stand as in fmt.Errorf,
// so that what %w stands for is wrapped, and one or many as Numbered has it.
func Errorf(code, english string, args ...any) error {
	if strings.Contains(english, "|") {
		return fault(code, args, fmt.Errorf(Numbered(english, args), args...))
	}
	return fault(code, args, fmt.Errorf(english, args...))
}

func fault(code string, args []any, err error) error {
	return &Fault{Sentence{code, args, err.Error()}, err}
}

func (f *Fault) Error() string { return f.english }

// Unwrap returns the error as fmt.Errorf makes it.
func (f *Fault) Unwrap() error { return f.err }
