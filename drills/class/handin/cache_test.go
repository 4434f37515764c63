package handin

import (
	"fmt"
	"sync"
	"testing"

	"slowneedle/drills/class/sheet"
)

// A cache that has room for three rounds keeps no more, whatever it is asked
// for and by how many at once; a round that was let go of is made again, the
// same.
func TestCacheIsBounded(t *testing.T) {
	s := sheet.New(11)
	s.Rounds = 10
	s, err := s.Canonical()
	if err != nil {
		t.Fatal(err)
	}
	var all RoundCache
	most := 0
	for i := range s.Rounds {
		e, err := all.Exercise(s, i)
		if err != nil {
			t.Fatal(err)
		}
		samples := 0
		for _, channel := range e.Channels {
			samples += len(channel.Sound.Channels) * channel.Sound.Len()
		}
		if e.Bytes() < 4*samples {
			t.Errorf("round %d holds %d samples of 4 bytes, and counts %d bytes", i+1, samples, e.Bytes())
		}
		most = max(most, e.Bytes())
	}
	few := RoundCache{limit: 3 * most}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for turn := range 2 {
				for i := range s.Rounds {
					want, err := all.Exercise(s, i)
					if err != nil {
						t.Error(err)
						return
					}
					got, err := few.Judge(s, i, want.ShowMe())
					if err != nil || !got.InWindow || got.AimDB != want.Channels[0].AimDB {
						t.Errorf("turn %d, round %d: %+v, %v", turn, i+1, got, err)
					}
				}
			}
		})
	}
	wg.Wait()
	held := 0
	for _, r := range few.rounds {
		held += r.exercise.Bytes()
	}
	if held > few.limit || held != few.bytes || len(few.rounds) < 2 {
		t.Errorf("%d rounds with %d bytes are kept (%d counted), the limit is %d", len(few.rounds), held, few.bytes, few.limit)
	}
}

// Room for two rounds to the byte keeps both; with less, the one just made stays
// and those that are still being made.
func TestWhatTheCacheKeeps(t *testing.T) {
	s := sheet.New(12)
	s.Rounds = 3
	s, err := s.Canonical()
	if err != nil {
		t.Fatal(err)
	}
	var all RoundCache
	bytes := make([]int, s.Rounds)
	for i := range bytes {
		e, err := all.Exercise(s, i)
		if err != nil {
			t.Fatal(err)
		}
		bytes[i] = e.Bytes()
	}
	hash, err := s.Hash()
	if err != nil {
		t.Fatal(err)
	}
	for limit, want := range map[int][]int{bytes[0] + bytes[1]: {0, 1}, bytes[0] + bytes[1] - 1: {1}, 1: {1}} {
		c := RoundCache{limit: limit, rounds: map[roundKey]*cachedRound{{"being made", 0, 0}: {}}}
		for i := range 2 {
			if _, err := c.Exercise(s, i); err != nil {
				t.Fatal(err)
			}
		}
		if len(c.rounds) != len(want)+1 || c.rounds[roundKey{"being made", 0, 0}] == nil {
			t.Errorf("limit %d: %d rounds are kept, want %d and the one being made", limit, len(c.rounds), len(want))
		}
		for _, i := range want {
			if c.rounds[roundKey{hash, i, 0}] == nil {
				t.Errorf("limit %d: round %d is not kept", limit, i+1)
			}
		}
	}
	for _, i := range []int{-1, s.Rounds} {
		if _, err := all.Exercise(s, i); err == nil || err.Error() != fmt.Sprintf("the sheet has no round %d", i+1) {
			t.Errorf("round %d: %v", i+1, err)
		}
	}
	if len(all.rounds) != s.Rounds {
		t.Errorf("%d rounds are kept of a sheet that has %d", len(all.rounds), s.Rounds)
	}
}
