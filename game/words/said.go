package words

import (
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"syscall"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// Put returns a sentence of the rooms below in the interface's language, or in
// English where that has no words for it.
func (s *Speech) Put(x said.Sentence) string {
	text, ok := s.Words["said."+x.Code]
	if !ok {
		return x.String()
	}
	args := make([]any, len(x.Args))
	for i, a := range x.Args {
		args[i] = s.arg(a)
	}
	if t := fmt.Sprintf(said.Numbered(text, args), args...); !strings.Contains(t, "%!") {
		return t
	}
	return x.String() // a class server's code, with other things in it than ours
}

// arg is what stands in a sentence, as the language writes it.
func (s *Speech) arg(a any) any {
	switch a := a.(type) {
	case said.Sentence:
		return s.Put(a)
	case error:
		return s.Fault(a)
	case rune:
		return string(a)
	case source.Family:
		return s.Say("family." + string(a))
	case float64:
		return decimals{a, s.Say("number.point")}
	case string:
		if level.MatchString(a) {
			return s.Pointed(strings.Replace(a, "-", "−", 1))
		}
	}
	return a
}

var level = regexp.MustCompile(`^[-+−]?\d+(\.\d+)?$`)

// decimals writes a number with a language's decimal mark, whatever the verb.
type decimals struct {
	v     float64
	point string
}

func (d decimals) Format(f fmt.State, verb rune) {
	if verb == 's' {
		verb = 'v'
	}
	fmt.Fprint(f, strings.Replace(strings.Replace(fmt.Sprintf(fmt.FormatString(f, verb), d.v), "-", "−", 1), ".", d.point, 1))
}

// systemSays are errors of the system that words may be put to, under "system."
// with their code.
var systemSays = []struct {
	err  error
	code string
}{
	{fs.ErrNotExist, "missing"}, {fs.ErrPermission, "denied"},
	{syscall.EROFS, "read_only"}, {syscall.ENOSPC, "full"},
}

// Fault words an error in the interface's language: the part of it that has
// words, or what the system calls it. English is the error's own; the room it
// comes from need not be named on a screen.
func (s *Speech) Fault(err error) string {
	var f *said.Fault
	if errors.As(err, &f) {
		if _, ok := s.Words["said."+f.Code]; ok {
			return s.Put(f.Sentence)
		}
	}
	for _, known := range systemSays {
		if text, ok := s.Words["system."+known.code]; ok && errors.Is(err, known.err) {
			return text
		}
	}
	return origin.ReplaceAllString(err.Error(), "")
}

var origin = regexp.MustCompile(`^((journal|sheet|class code|hand-in|round|drill): )+`)

// IsFault reports whether an error is, or wraps, the fault of a code.
func IsFault(err error, code string) bool {
	for f := (*said.Fault)(nil); errors.As(err, &f); err = f.Unwrap() {
		if f.Code == code {
			return true
		}
	}
	return false
}
