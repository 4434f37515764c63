package sheet

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/rand/v2"

	"slowneedle/audio/said"
)

// Drawn is a round of an exam, as its class server gives it to a learner.
type Drawn struct {
	Index int    `json:"index"` // of the exam's rounds, from 0
	Seed  uint64 `json:"seed"`  // 1 to MaxDrawn
}

// MaxDrawn is the largest seed of an exam's round: JSON numbers are exact so far.
const MaxDrawn = 1<<53 - 1

// Draw returns the rounds of an exam in the order in which the hand-in of an id
// has them. Seeds and order follow from the secret of the exam's server alone.
func (s Sheet) Draw(secret, id string) []Drawn {
	hash := func(of string) [32]byte {
		m := hmac.New(sha256.New, []byte(secret))
		m.Write([]byte(of))
		return [32]byte(m.Sum(nil))
	}
	var list []Drawn
	for _, i := range rand.New(rand.NewChaCha8(hash("order " + id))).Perm(s.Rounds) {
		seed := hash(fmt.Sprint("round ", i))
		list = append(list, Drawn{i, max(1, binary.BigEndian.Uint64(seed[:8])>>11)})
	}
	return list
}

// With returns an exam with the seeds of some of its rounds, which it needs to
// have exercises. The error says which of them cannot be.
func (s Sheet) With(drawn []Drawn) (Sheet, error) {
	seeds := make([]uint64, s.Rounds)
	copy(seeds, s.Seeds)
	for _, d := range drawn {
		switch {
		case d.Index < 0 || d.Index >= s.Rounds:
			return s, fmt.Errorf("its index is %d; it may be 0 to %d", d.Index, s.Rounds-1)
		case d.Seed < 1 || d.Seed > MaxDrawn:
			return s, fmt.Errorf("its seed is %d; it may be 1 to %d", d.Seed, uint64(MaxDrawn))
		case seeds[d.Index] != 0 && seeds[d.Index] != d.Seed:
			return s, fmt.Errorf("round %d of the exam has another seed", d.Index+1)
		}
		seeds[d.Index] = d.Seed
	}
	s.Seeds = seeds
	return s, nil
}

// Drawn reports whether the seed of round i of an exam is known, from 0.
func (s Sheet) Drawn(i int) bool { return i >= 0 && i < len(s.Seeds) && s.Seeds[i] != 0 }

var errUndrawn = said.Errorf("sheet.exam", "this is an exam: its class server alone has its rounds")
