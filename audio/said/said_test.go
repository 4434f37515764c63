package said

import (
	"errors"
	"fmt"
	"io/fs"
	"testing"
)

func TestSentence(t *testing.T) {
	s := New("task.tone", "Bring %s to %s VU.", New("part", "the tone"), "+3")
	if s.String() != "Bring the tone to +3 VU." || s.Code != "task.tone" || len(s.Args) != 2 {
		t.Errorf("%+v", s)
	}
	if (Sentence{}).String() != "" {
		t.Error("nothing is said as something")
	}
}

func TestFault(t *testing.T) {
	full := Errorf("full", "there is no room")
	err := fmt.Errorf("journal: %w", Errorf("named", "%s: %w, %w", "a.wav", full, fs.ErrPermission))
	if got := err.Error(); got != "journal: a.wav: there is no room, permission denied" {
		t.Error(got)
	}
	var f *Fault
	if !errors.As(err, &f) || f.Code != "named" || f.String() != f.Error() {
		t.Errorf("%+v", f)
	}
	if !errors.Is(err, full) || !errors.Is(err, fs.ErrPermission) || errors.Is(err, fs.ErrNotExist) {
		t.Error("what was wrapped is not found, or what was not is")
	}
}

// One thing is not many; the number before a word decides.
func TestNumbered(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Numbered("%s has 100 %% of %d {x|y}", []any{"1", 2}), "%s has 100 %% of %d y"},
		{New("a", "%d {take|takes}, %.1f %s {is|are}", 1, 2.5, "1").String(), "1 take, 2.5 1 is"},
		{Errorf("a", "it has %d {character|characters}", 1).Error(), "it has 1 character"},
		{Errorf("a", "it has %d {character|characters}", int64(2)).Error(), "it has 2 characters"},
		{New("a", "{one|many}").String(), "many"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
