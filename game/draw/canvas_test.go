package draw

import (
	"strings"
	"testing"
)

// A figure and its unit do not part at the end of a line.
func TestWithUnits(t *testing.T) {
	for text, want := range map[string]string{
		"unter −4 dBFS: Ihre":                "unter|−4 dBFS:|Ihre",
		"300 ms to rise, 1 to 1.5 % beyond,": "300 ms|to|rise,|1|to|1.5 %|beyond,",
		"of 8 hours (−26,0 VU), s":           "of|8|hours|(−26,0 VU),|s",
		"dB":                                 "dB",
	} {
		if got := strings.Join(withUnits(strings.Fields(text)), "|"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
