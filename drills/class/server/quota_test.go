//go:build !js

package server

import (
	"fmt"
	"testing"
	"time"
)

// The gate under a storm: requests of more addresses than there are people
// never fill its memory, the address of the class keeps its rate, and a clock
// that is set back lets nobody through who would not have been.
func TestGateUnderAStorm(t *testing.T) {
	now := evening
	g := newQuotas(Limits{PerSecond: 2, Burst: 10, PerAddress: 5}, nil, func() time.Time { return now })
	for i := range 3 * mostAddresses {
		if ok, _ := g.pass(fmt.Sprintf("10.%d.%d.%d:999", i>>16&255, i>>8&255, i&255)); !ok {
			t.Fatalf("address %d is refused its first request", i)
		}
		if len(g.addresses) > mostAddresses {
			t.Fatalf("%d addresses are remembered, %d at most were to be", len(g.addresses), mostAddresses)
		}
	}
	// Those whose buckets are full again are the ones forgotten first.
	now = now.Add(time.Hour)
	for range 10 {
		g.pass("192.168.1.20:5000")
	}
	for i := range mostAddresses - 10 {
		g.pass(fmt.Sprintf("172.16.%d.%d:1", i>>8, i&255))
	}
	if ok, first := g.pass("192.168.1.20:5001"); ok || !first {
		t.Errorf("after its burst the address is let through: %v, %v", ok, first)
	}
	if ok, first := g.pass("192.168.1.20:5002"); ok || first {
		t.Errorf("the second refusal in a row: let through %v, worth a line %v", ok, first)
	}
	now = now.Add(-24 * time.Hour)
	if ok, _ := g.pass("192.168.1.20:5003"); ok {
		t.Error("with the clock set back the address is let through")
	}
	now = now.Add(time.Second)
	passed := 0
	for range 10 {
		if ok, _ := g.pass("192.168.1.20:5004"); ok {
			passed++
		}
	}
	if passed != 2 {
		t.Errorf("%d requests pass in the second after, want 2", passed)
	}
	if ok, _ := g.pass("no address at all"); !ok {
		t.Error("a connection without a port is refused its first request")
	}
}
