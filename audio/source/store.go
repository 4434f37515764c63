package source

import "sync"

// store is memory for notes and strokes while one sound is made. Stores go from
// sound to sound, so that making one round after another leaves little behind.
type store struct {
	slabs [][]float32
	slab  int // the one in use
	used  int // of it
}

const slabSize = 1 << 19

var (
	stores sync.Pool
	loops  sync.Pool // loops of an ensemble's players
)

// scratch returns n samples of silence that are the plan's until release.
func (p *plan) scratch(n int) []float32 {
	x := p.rough(n)
	clear(x)
	return x
}

// rough is scratch with any content.
func (p *plan) rough(n int) []float32 {
	if p.store == nil {
		p.store, _ = stores.Get().(*store)
		if p.store == nil {
			p.store = new(store)
		}
		p.store.slab, p.store.used = 0, 0
	}
	s := p.store
	for s.slab < len(s.slabs) && s.used+n > len(s.slabs[s.slab]) {
		s.slab, s.used = s.slab+1, 0
	}
	if s.slab == len(s.slabs) {
		s.slabs = append(s.slabs, make([]float32, max(n, slabSize)))
	}
	x := s.slabs[s.slab][s.used : s.used+n : s.used+n]
	s.used += n
	return x
}

// release gives back what scratch handed out to the plan and its players.
func (p *plan) release() {
	for _, q := range p.plans {
		q.release()
	}
	if p.store != nil {
		stores.Put(p.store)
		p.store = nil
	}
}

// loop returns silence of the plan's length, which release leaves alone.
func (p *plan) loop() []float32 {
	if x, ok := loops.Get().(*[]float32); ok && cap(*x) >= p.n {
		y := (*x)[:p.n]
		clear(y)
		return y
	}
	return make([]float32, p.n)
}
