package table

import (
	"testing"

	"pgregory.net/rapid"
)

func TestGuard(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "",
		"Moonrake":                 "Moonrake",
		"a=1":                      "a=1",
		"=HYPERLINK(\"http://x\")": "'=HYPERLINK(\"http://x\")",
		"+1":                       "'+1",
		"-1":                       "'-1",
		"@SUM(A1)":                 "'@SUM(A1)",
		"|calc":                    "'|calc",
		"\t=1":                     "'\t=1",
		"\r=1":                     "'\r=1",
		"\n=1":                     "'\n=1",
		"＝1+1":                     "'＝1+1",
		"＋1":                       "'＋1",
		"－1":                       "'－1",
		"＠SUM":                     "'＠SUM",
		"'tis":                     "''tis",
	} {
		if got := Guard(text); got != want {
			t.Errorf("Guard(%q) is %q, want %q", text, got, want)
		}
	}
	for _, plain := range []string{"'", "'a", "a'"} { // not of Guard's making
		if got := Unguard(plain); got != plain {
			t.Errorf("Unguard(%q) is %q", plain, got)
		}
	}
}

// What is guarded comes back as it was.
func TestBackAgain(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("=＝+-@'|a1 \t"))).Draw(rt, "text")
		if got := Unguard(Guard(text)); got != text {
			rt.Fatalf("%q comes back as %q", text, got)
		}
	})
}
