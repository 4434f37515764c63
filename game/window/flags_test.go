package window

import (
	"strings"
	"testing"
)

// What the command line answers and refuses, with the codes of usage errors;
// none of it needs a display.
func TestFlags(t *testing.T) {
	inTurn(t)
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"--version"}, 0, "slowneedle "},
		{[]string{"--help"}, 0, "usage:"},
		{[]string{"--window", "huge"}, 2, "no size such as 1280x800"},
		{[]string{"--window", "10x10"}, 2, "no size such as 1280x800"},
		{[]string{"--seed", "minus"}, 2, "seed"},
		{[]string{"--nonsense"}, 2, "nonsense"},
		{[]string{"a.wav", "--seed=1"}, 2, "options come before it"},
		{[]string{"a.wav", "--version"}, 2, "options come before it"},
	} {
		out, code := without("", c.args...)
		if code != c.code || !strings.Contains(out, c.says) {
			t.Errorf("%v: code %d, want %d; said %q, want %q in it", c.args, code, c.code, out, c.says)
		}
		if c.code != 0 && strings.Count(out, "\n") != 1 {
			t.Errorf("%v: said\n%s\nwant one sentence", c.args, out)
		}
	}
}
