//go:build !js

package server

import (
	"net"
	"sync"
	"time"
)

// gate lets so many requests of one address through: each address has a bucket
// that fills evenly.
type gate struct {
	perSecond, burst float64
	now              func() time.Time

	mu      sync.Mutex
	buckets map[string]*bucket
}

type bucket struct {
	left   float64
	at     time.Time
	warned time.Time
}

const (
	mostBuckets = 4096
	warnEvery   = 10 * time.Second
)

func newGate(perSecond float64, burst int, now func() time.Time) *gate {
	return &gate{perSecond: perSecond, burst: float64(burst), now: now, buckets: make(map[string]*bucket)}
}

// pass reports whether a request may go on; if not, first says that it is worth
// a log line.
func (g *gate) pass(remote string) (ok, first bool) {
	host, _, err := net.SplitHostPort(remote)
	if err != nil {
		host = remote
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	b := g.buckets[host]
	if b == nil {
		if len(g.buckets) >= mostBuckets {
			g.sweep(now)
		}
		b = &bucket{left: g.burst, at: now}
		g.buckets[host] = b
	}
	b.left = min(g.burst, b.left+g.perSecond*max(now.Sub(b.at).Seconds(), 0))
	b.at = now
	if b.left >= 1 {
		b.left--
		return true, false
	}
	if now.Sub(b.warned) >= warnEvery {
		b.warned = now
		return false, true
	}
	return false, false
}

// sweep forgets addresses whose buckets are full again; if there are none, all:
// so many addresses are not a class.
func (g *gate) sweep(now time.Time) {
	for host, b := range g.buckets {
		if b.left+g.perSecond*now.Sub(b.at).Seconds() >= g.burst {
			delete(g.buckets, host)
		}
	}
	if len(g.buckets) >= mostBuckets {
		clear(g.buckets)
	}
}
