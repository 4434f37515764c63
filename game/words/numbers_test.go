package words

import (
	"math"
	"strings"
	"testing"

	"slowneedle/assets"
)

func TestNumbers(t *testing.T) {
	w, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	s := Speech{w}
	for _, c := range []struct{ got, want string }{
		{s.Signed(1.84, 1), "+1.8"}, {s.Signed(-7.4, 1), "−7.4"}, {s.Signed(-0.04, 1), "0.0"}, {s.Signed(0.04, 1), "0.0"},
		{s.Short(-18), "−18"}, {s.Short(-18.5), "−18.5"}, {s.ShortSigned(6), "+6"}, {s.ShortSigned(0), "0"},
		{s.Number(math.NaN(), 1), "none"}, {s.Number(math.Inf(-1), 1), "none"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// One thing is not many, in every language; the number before a word decides.
func TestOneAndMany(t *testing.T) {
	for lang, rows := range map[string][][2]string{
		"en": {{"1 take · all · any", "3 takes · all · any"}, {"1 take was added to your history; 1 was there already.", "3 takes were added to your history; 0 were there already."}, {"1 sample", "3 samples"},
			{"0 of 1 round locked; the next one follows.", "1 of 8 rounds locked; the next one follows."}, {"1 day.", "12 days."}},
		"de": {{"1 Versuch · all · any", "3 Versuche · all · any"}, {"1 Versuch kam in deinen Verlauf; 1 war schon da.", "3 Versuche kamen in deinen Verlauf; 0 waren schon da."}, {"1 Abtastwert", "3 Abtastwerte"},
			{"0 von 1 Runde festgelegt; die nächste folgt.", "1 von 8 Runden festgelegt; die nächste folgt."}, {"seit 1 Tag nicht geübt.", "seit 12 Tagen nicht geübt."}},
	} {
		w, err := assets.Load(lang)
		if err != nil {
			t.Fatal(err)
		}
		s := Speech{w}
		for i, got := range [][2]string{
			{s.Say("progress.takes", 1, "all", "any"), s.Say("progress.takes", 3, "all", "any")},
			{s.Say("journal.imported", 1, 1), s.Say("journal.imported", 3, 0)},
			{s.Say("verdict.samples", 1), s.Say("verdict.samples", int64(3))},
			{s.Say("class.go_on_line", 0, 1), s.Say("class.go_on_line", 1, 8)},
			{s.Say("advice.rusty", "x", 1), s.Say("advice.rusty", "x", 12)},
		} {
			if !strings.HasSuffix(got[0], rows[i][0]) || !strings.HasSuffix(got[1], rows[i][1]) {
				t.Errorf("%s: %q, want %q", lang, got, rows[i])
			}
		}
	}
}
