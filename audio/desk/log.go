package desk

import (
	"slices"
	"sort"
	"sync"
)

// log keeps snapshots and moves for other goroutines to read, which hold the lock for
// the time of a copy.
type log struct {
	mu      sync.Mutex
	ring    []Snapshot
	metered int               // channels that have meters of their own
	rows    []ChannelSnapshot // metered to a snapshot
	count   int               // snapshots ever put into the ring
	moves   []Move            // with those beyond maxMoves one a channel
}

func (g *log) init(inputs, metered int) {
	g.metered = metered
	g.ring = make([]Snapshot, ringSize)
	g.rows = make([]ChannelSnapshot, ringSize*metered)
	g.moves = make([]Move, 0, maxMoves+inputs)
}

// add adds a snapshot, and what the channels' own meters show, if they have any.
func (g *log) add(s Snapshot, channels []*channel) {
	g.mu.Lock()
	defer g.mu.Unlock()
	k := g.count % ringSize
	g.ring[k] = s
	for i := range g.metered {
		g.rows[k*g.metered+i] = channels[i].meters.channel()
	}
	g.count++
}

// move adds a move.
func (g *log) move(m Move) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for i := maxMoves; i < len(g.moves); i++ {
		if g.moves[i].Control == m.Control {
			g.moves = slices.Delete(g.moves, i, i+1)
		}
	}
	g.moves = append(g.moves, m)
}

func (g *log) allMoves() []Move {
	g.mu.Lock()
	defer g.mu.Unlock()
	return slices.Clone(g.moves)
}

// find returns how many of the snapshots kept are stamped at or before a
// position, and the number of the first kept.
func (g *log) find(pos int64) (n, first int) {
	first = max(0, g.count-ringSize)
	n = sort.Search(g.count-first, func(i int) bool { return g.ring[(first+i)%ringSize].At > pos })
	return n, first
}

func (g *log) at(pos int64, channel int) (s Snapshot, c ChannelSnapshot, ok bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	n, first := g.find(pos)
	if n == 0 {
		return s, c, false
	}
	k := (first + n - 1) % ringSize
	if channel >= 0 {
		c = g.rows[k*g.metered+channel]
	}
	return g.ring[k], c, true
}

func (g *log) since(dst []Snapshot, pos int64) []Snapshot {
	g.mu.Lock()
	defer g.mu.Unlock()
	n, first := g.find(pos)
	for i := first + n; i < g.count; i++ {
		dst = append(dst, g.ring[i%ringSize])
	}
	return dst
}
