package source

import (
	"math/rand/v2"
	"testing"
)

// A player all of whose strokes fall into rests plays on without them.
func TestNeverSilent(t *testing.T) {
	k := kind{name: "late", under: 16, spread: 1, slow: 100, fast: 100, make: func(p *plan) []float32 {
		x := p.loop()
		if !p.resting(p.rests0().at) {
			x[0] = 1
		}
		return x
	}}
	s := k.generate(Struck, rand.New(rand.NewPCG(1, 1)), Difficulty{Pauses: 1})
	if silent(s.Channels[0]) {
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
