package window

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// What the command line takes and refuses, with the codes of usage errors.
func TestFlags(t *testing.T) {
	t.Parallel()
	display := startDisplay(t, "640x480")
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
		{[]string{"a.wav", "b.wav"}, 2, "one recording at a time"},
	} {
		cmd := exec.Command(trainer, c.args...)
		cmd.Env = append(os.Environ(), "DISPLAY="+display)
		out, _ := cmd.CombinedOutput()
		if code := cmd.ProcessState.ExitCode(); code != c.code || !strings.Contains(string(out), c.says) {
			t.Errorf("%v: code %d, want %d; said %q, want %q in it", c.args, code, c.code, out, c.says)
		}
	}
}
