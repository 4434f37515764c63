package demo

import (
	"bytes"
	"testing"
	"time"

	"slowneedle/drills/class/handin"
)

func TestAliasesAreManyAndPlain(t *testing.T) {
	seen := make(map[string]bool)
	for i := range 2000 {
		a := alias(i)
		if seen[a] {
			t.Fatalf("alias %d, %s, comes twice", i, a)
		}
		seen[a] = true
		if err := handin.CheckWho(a); err != nil {
			t.Fatal(err)
		}
	}
}

// The same seed makes the same files, and they check clean.
func TestDeterministic(t *testing.T) {
	var bench handin.RoundCache
	s := Sheet(3)
	s.Rounds = 5
	seat, err := NewSeat(&bench, s)
	if err != nil {
		t.Fatal(err)
	}
	began := time.Date(2026, 3, 3, 18, 30, 0, 0, time.UTC)
	var first []byte
	for range 2 {
		h, err := seat.HandIn(Class(3, 4)[2], 3, 0, "slowneedle test", began)
		if err != nil {
			t.Fatal(err)
		}
		data, err := h.File()
		if err != nil {
			t.Fatal(err)
		}
		if r := bench.Check(data); len(r.Findings) > 0 {
			t.Errorf("findings %v", r.Findings)
		}
		if first != nil && !bytes.Equal(first, data) {
			t.Error("two files of one seed differ")
		}
		first = data
	}
}
