package sheet

import (
	"slices"
	"testing"
)

// An exam's seeds are those of another program: the first 53 bits of the HMAC-SHA256 of
// "round 0" and so on, worked out with Python's hmac and hashlib. Its rounds come each once, in an
// order that the id of the hand-in and the secret decide: over 600 hand-ins each round is the
// first as often as any other, within four standard deviations.
func TestExamSeedsAndOrder(t *testing.T) {
	exam := New(4711)
	exam.Exam = true
	want := map[int]uint64{0: 3572938554191961, 3: 6709423340567050, 9: 7722801703751613}
	first := make([]int, exam.Rounds)
	const handIns = 600
	for n := range handIns {
		id := string(rune('a'+n%26)) + string(rune('a'+n/26))
		list := exam.Draw("secret", id)
		if again := exam.Draw("secret", id); !slices.Equal(list, again) {
			t.Fatalf("%s: %v, then %v", id, list, again)
		}
		var seen []int
		for _, d := range list {
			if w, ok := want[d.Index]; ok && d.Seed != w {
				t.Fatalf("round %d has the seed %d, want %d", d.Index, d.Seed, w)
			}
			seen = append(seen, d.Index)
		}
		first[seen[0]]++
		slices.Sort(seen)
		for i, index := range seen {
			if index != i || len(seen) != exam.Rounds {
				t.Fatalf("%s has the rounds %v", id, seen)
			}
		}
	}
	mean := float64(handIns) / float64(exam.Rounds)
	for i, n := range first {
		if d := float64(n) - mean; d*d > 16*mean {
			t.Errorf("round %d is the first in %d of %d hand-ins", i, n, handIns)
		}
	}
	if a, b := exam.Draw("secret", "a"), exam.Draw("other", "a"); slices.Equal(a, b) {
		t.Error("another secret gives the same exam")
	}
	last := Drawn{exam.Rounds, 1}
	if _, err := exam.With([]Drawn{last}); err == nil {
		t.Errorf("%+v is taken in an exam of %d rounds", last, exam.Rounds)
	}
	if _, err := exam.With([]Drawn{{2, 5}, {2, 6}}); err == nil || err.Error() != "round 3 of the exam has another seed" {
		t.Errorf("two seeds for one round: %v", err)
	}
	if _, err := exam.With([]Drawn{{2, 5}, {2, 5}}); err != nil {
		t.Errorf("one seed told twice: %v", err)
	}
	for _, d := range []Drawn{{-1, 1}, {0, 0}, {0, MaxDrawn + 1}} {
		if _, err := exam.With([]Drawn{d}); err == nil {
			t.Errorf("%+v is taken", d)
		}
	}
	if _, err := exam.With([]Drawn{{0, MaxDrawn}}); err != nil {
		t.Errorf("the largest seed: %v", err)
	}
}
