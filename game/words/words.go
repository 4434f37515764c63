// Package words puts things into the words of a language: keys of the interface,
// numbers, sentences and errors of the rooms below, rigs, sheets and advice. It
// owns the chosen language and needs no display.
package words

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"slowneedle/assets"
	"slowneedle/audio/said"
)

// Speech turns keys and numbers into text of the chosen language.
type Speech struct{ Words assets.Words }

// Load chooses a language. The error names a language without words.
func (s *Speech) Load(language string) error {
	w, err := assets.Load(language)
	if err == nil {
		s.Words = w
	}
	return err
}

// Say returns the text of a key, with its %-verbs filled in and one or many as
// said.Numbered has it.
func (s *Speech) Say(key string, args ...any) string {
	t := s.Words.Get(key)
	if len(args) == 0 {
		return t
	}
	return fmt.Sprintf(said.Numbered(t, args), args...)
}

// Number writes v with a true minus, the language's decimal mark, and digits
// after it.
func (s *Speech) Number(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return s.Say("number.none")
	}
	t := fmt.Sprintf("%.*f", digits, v)
	if strings.Trim(t, "-0.") == "" {
		t = strings.TrimPrefix(t, "-")
	}
	t = strings.Replace(t, "-", "−", 1)
	return strings.Replace(t, ".", s.Say("number.point"), 1)
}

// Pointed gives the numbers of a sentence the language's decimal mark.
func (s *Speech) Pointed(sentence string) string {
	if point := s.Say("number.point"); point != "." {
		return decimal.ReplaceAllString(sentence, "${1}"+point+"${2}")
	}
	return sentence
}

var decimal = regexp.MustCompile(`(\d)\.(\d)`)

// Signed is number with a plus in front of what is above nothing.
func (s *Speech) Signed(v float64, digits int) string {
	t := s.Number(v, digits)
	if v > 0 && strings.Trim(t, "0.,") != "" && !math.IsInf(v, 0) {
		return "+" + t
	}
	return t
}

// Short is number with a digit after the mark only where there is one to show.
func (s *Speech) Short(v float64) string {
	if math.Abs(v-math.Round(v)) < 0.05 {
		return s.Number(v, 0)
	}
	return s.Number(v, 1)
}

// ShortSigned is short with a sign.
func (s *Speech) ShortSigned(v float64) string {
	if t := s.Short(v); v > 0.05 {
		return "+" + t
	} else {
		return t
	}
}
