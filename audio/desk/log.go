package desk

import (
	"cmp"
	"slices"
	"sync"
)

// log keeps snapshots and moves for other goroutines to read.
//
// The pulling goroutine collects in the waiting room and hands over when the
// lock is free at that moment; it never waits for a reader. A reader holds
// the lock for the time of a copy.
type log struct {
	channels int // that have meters of their own

	// The waiting room, of the pulling goroutine alone.
	snaps   []Snapshot
	rows    []ChannelSnapshot // channels to a snapshot
	waiting []Move

	mu       sync.Mutex
	ring     []Snapshot
	ringRows []ChannelSnapshot
	count    int // snapshots ever put into the ring
	moves    []Move
	last     []Move // newest move of each channel after moves was full
	over     []bool // which of last are set
}

const waitingRoom = 256 // more than two seconds of snapshots

func (g *log) init(strips, channels int) {
	g.channels = channels
	g.snaps = make([]Snapshot, 0, waitingRoom)
	g.rows = make([]ChannelSnapshot, 0, waitingRoom*channels)
	g.waiting = make([]Move, 0, waitingRoom)
	g.ring = make([]Snapshot, ringSize)
	g.ringRows = make([]ChannelSnapshot, ringSize*channels)
	g.moves = make([]Move, 0, maxMoves)
	g.last = make([]Move, strips)
	g.over = make([]bool, strips)
}

// push leaves a snapshot in the waiting room and returns its row of channel
// snapshots to fill. Should nothing have been handed over for seconds, the
// newest there is replaced.
func (g *log) push(s Snapshot) []ChannelSnapshot {
	n := len(g.snaps)
	if n == cap(g.snaps) {
		n--
	}
	g.snaps = append(g.snaps[:n], s)
	g.rows = g.rows[:(n+1)*g.channels]
	return g.rows[n*g.channels:]
}

// full says that no more moves fit the waiting room.
func (g *log) full() bool { return len(g.waiting) == cap(g.waiting) }

// move leaves a move in the waiting room, which is not full.
func (g *log) move(m Move) { g.waiting = append(g.waiting, m) }

// flush hands over what waits, if no reader holds the lock.
func (g *log) flush() {
	if len(g.snaps) == 0 && len(g.waiting) == 0 || !g.mu.TryLock() {
		return
	}
	for i, s := range g.snaps {
		k := g.count % ringSize
		g.ring[k] = s
		copy(g.ringRows[k*g.channels:(k+1)*g.channels], g.rows[i*g.channels:])
		g.count++
	}
	for _, m := range g.waiting {
		if len(g.moves) < cap(g.moves) {
			g.moves = append(g.moves, m)
			continue
		}
		g.last[m.Channel], g.over[m.Channel] = m, true
	}
	g.mu.Unlock()
	g.snaps, g.rows, g.waiting = g.snaps[:0], g.rows[:0], g.waiting[:0]
}

func (g *log) allMoves() []Move {
	g.mu.Lock()
	defer g.mu.Unlock()
	out := slices.Clone(g.moves)
	for i, set := range g.over {
		if set {
			out = append(out, g.last[i])
		}
	}
	slices.SortStableFunc(out, func(a, b Move) int { return cmp.Compare(a.At, b.At) })
	return out
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
		c = g.ringRows[k*g.channels+channel]
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
