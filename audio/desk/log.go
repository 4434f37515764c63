package desk

import (
	"slices"
	"sync"
)

// log keeps snapshots and moves for other goroutines to read.
//
// The pulling goroutine collects in a queue and hands it over when the lock is
// free at that moment; it never waits for a reader. A reader holds
// the lock for the time of a copy.
type log struct {
	metered int // channels that have meters of their own

	// The queue of the pulling goroutine.
	snaps   []Snapshot
	rows    []ChannelSnapshot // metered to a snapshot
	waiting []Move

	mu       sync.Mutex
	ring     []Snapshot
	ringRows []ChannelSnapshot
	count    int    // snapshots ever put into the ring
	moves    []Move // with those beyond maxMoves one a channel
}

const queueSize = 256 // more than two seconds of snapshots

func (g *log) init(inputs, metered int) {
	g.metered = metered
	g.snaps = make([]Snapshot, 0, queueSize)
	g.rows = make([]ChannelSnapshot, 0, queueSize*metered)
	g.waiting = make([]Move, 0, queueSize)
	g.ring = make([]Snapshot, ringSize)
	g.ringRows = make([]ChannelSnapshot, ringSize*metered)
	g.moves = make([]Move, 0, maxMoves+inputs)
}

// push puts a snapshot into the queue and returns its row of channel
// snapshots to fill. Should nothing have been handed over for seconds, the
// newest there is replaced.
func (g *log) push(s Snapshot) []ChannelSnapshot {
	n := len(g.snaps)
	if n == cap(g.snaps) {
		n--
	}
	g.snaps = append(g.snaps[:n], s)
	g.rows = g.rows[:(n+1)*g.metered]
	return g.rows[n*g.metered:]
}

// full reports whether no more moves fit the queue.
func (g *log) full() bool { return len(g.waiting) == cap(g.waiting) }

// move puts a move into the queue, which is not full.
func (g *log) move(m Move) { g.waiting = append(g.waiting, m) }

// flush hands the queue over, if no reader holds the lock.
func (g *log) flush() {
	if len(g.snaps) == 0 && len(g.waiting) == 0 || !g.mu.TryLock() {
		return
	}
	for i, s := range g.snaps {
		k := g.count % ringSize
		g.ring[k] = s
		copy(g.ringRows[k*g.metered:(k+1)*g.metered], g.rows[i*g.metered:])
		g.count++
	}
	for _, m := range g.waiting {
		for i := maxMoves; i < len(g.moves); i++ {
			if g.moves[i].Channel == m.Channel {
				g.moves = slices.Delete(g.moves, i, i+1)
			}
		}
		g.moves = append(g.moves, m)
	}
	g.mu.Unlock()
	g.snaps, g.rows, g.waiting = g.snaps[:0], g.rows[:0], g.waiting[:0]
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
	lo, hi := first, g.count
	for lo < hi {
		mid := (lo + hi) / 2
		if g.ring[mid%ringSize].At <= pos {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo - first, first
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
		c = g.ringRows[k*g.metered+channel]
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
