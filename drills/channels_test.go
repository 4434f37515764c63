package drills

import "testing"

// Every channel of a whole desk has a name, no two the same, and the sources of a
// match have theirs behind their letter.
func TestChannelNames(t *testing.T) {
	for seed := range uint64(8) {
		seen := map[string]bool{}
		for _, s := range exercise(t, WholeDesk, seed, 20).Channels {
			if s.Label == "" || s.Label[0] == ' ' || seen[s.Label] {
				t.Errorf("seed %d: the channel of %q is called %q", seed, s.Sound.Kind, s.Label)
			}
			seen[s.Label] = true
		}
	}
	for i, s := range exercise(t, MatchEar, 5, 14).Channels {
		if len(s.Label) < 4 || s.Label[:2] != string(rune('A'+i))+" " {
			t.Errorf("source %d, %q, is called %q", i, s.Sound.Kind, s.Label)
		}
	}
	german := Words{"part_guitar": "Gitarre"}
	for _, row := range []struct{ label, want string }{
		{"guitar", "Gitarre"}, {"guitar 2", "Gitarre 2"}, {"B guitar", "B Gitarre"}, {"B", "B"}, {"left", "left"}, {"kick", "kick"},
	} {
		if got := german.Part(row.label); got != row.want {
			t.Errorf("%q is called %q, want %q", row.label, got, row.want)
		}
	}
}
