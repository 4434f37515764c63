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

// A stroke that is cut while it rings ends without a step, as any hand or skin would end it.
func TestStrokeEnds(t *testing.T) {
	x := new(plan).stroke(0.1, frames(0.02), modes(mode{440, 10, 1}))
	if middle, end := magnitude(x[1000:2000]), magnitude(x[len(x)-10:]); middle < 0.5 || end > 0.001 {
		t.Errorf("it rings at %.3f and ends at %.4f", middle, end)
	}
}
