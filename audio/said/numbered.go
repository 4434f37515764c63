package said

import (
	"fmt"
	"regexp"
	"strings"
)

var choiceOrVerb = regexp.MustCompile(`\{([^{}|]*)\|([^{}|]*)\}|%[-+#0-9.]*[a-z%]`)

// Numbered settles one and many in a text for fmt: where it has {take|takes},
// the word before the bar stands if what the verb before it prints is 1, else
// the one behind.
func Numbered(text string, args []any) string {
	taken := 0 // arguments of the verbs so far
	return choiceOrVerb.ReplaceAllStringFunc(text, func(m string) string {
		switch {
		case m == "%%":
			return m
		case m[0] == '%':
			taken++
			return m
		}
		one, many, _ := strings.Cut(m[1:len(m)-1], "|")
		if taken > 0 && taken <= len(args) && fmt.Sprint(args[taken-1]) == "1" {
			return one
		}
		return many
	})
}
