package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"slowneedle/assets"
	"slowneedle/game/words"
)

// speech is what pages say in the first of some languages that there is, or in English,
// as commands do.
func speech(languages ...string) *words.Speech {
	for _, l := range append(languages, "en") {
		if w, err := assets.Load(l); err == nil {
			return &words.Speech{Words: w}
		}
	}
	panic("there is no English") // it is part of the program
}

// printJSON is how every command prints JSON.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// faultJSON is a file that could not be used, in a list of those that could.
type faultJSON struct {
	File  string `json:"file"`
	Who   string `json:"who,omitempty"`
	Error string `json:"error"`
}

// newFault describes a fault without the file's name, with which it may begin.
func newFault(file, who string, err error) faultJSON {
	return faultJSON{file, who, strings.TrimPrefix(err.Error(), file+": ")}
}

// newTable is how every command prints a table: cells end with a tab and stand to the
// right, the last is text and stands to the left.
func newTable(w io.Writer) *tabwriter.Writer {
	return tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
}

// bounds are those of a number of the command line.
type bounds struct {
	flag          string
	value, lo, hi float64
}

// inRange refuses the first that is not what it may be, as what is no number.
func inRange(all ...bounds) error {
	for _, w := range all {
		if !(w.value >= w.lo && w.value <= w.hi) {
			return fmt.Errorf("--%s=%v: it may be %v to %v", w.flag, w.value, w.lo, w.hi)
		}
	}
	return nil
}

// tenth rounds a level to the 0.1 dB that people are shown, without a zero
// below zero.
func tenth(db float64) float64 { return math.Round(db*10)/10 + 0 }

// level writes a level to a tenth, or a dash if it does not exist, as that of silence.
func level[T ~float64](db T, format string) string {
	if math.IsNaN(float64(db)) || math.IsInf(float64(db), 0) {
		return "-"
	}
	return fmt.Sprintf(format, tenth(float64(db)))
}

// clock writes seconds as minutes and seconds.
func clock(seconds float64) string {
	whole := int(seconds + 0.5)
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// count writes how many there are of a thing: "1 take", "2 takes".
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	if strings.HasSuffix(thing, "sh") {
		thing += "e"
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// typed writes a sentence's minus signs as they are typed at a prompt, like the
// other numbers a command prints.
func typed(sentence string) string { return strings.ReplaceAll(sentence, "−", "-") }

// shown is a text of a file as it can stand on a terminal, over which it must not write.
func shown(text string) string {
	if strings.ContainsFunc(text, func(r rune) bool { return !strconv.IsPrint(r) || r == utf8.RuneError }) {
		return strconv.Quote(text)
	}
	return text
}
