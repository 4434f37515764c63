package source

import (
	"math/rand/v2"
	"testing"
)

// A player all of whose strokes fall into rests plays on without them.
func TestNeverSilent(t *testing.T) {
	k := kind{name: "late", finished: spread{16, 1}, slow: 100, fast: 100, make: func(p *plan, x []float32) {
		if !p.resting(p.rests0().at) {
			x[0] = 1
		}
	}}
	s := k.generate(Request{Family: Struck, Difficulty: Difficulty{Pauses: 1}}, rand.New(rand.NewPCG(1, 1)))
	if silent(s.Channels) {
		t.Error("silence")
	}
}

// rests0 is the first rest, or none.
func (p *plan) rests0() span {
	if len(p.rests) == 0 {
		return span{}
	}
	return p.rests[0]
}
