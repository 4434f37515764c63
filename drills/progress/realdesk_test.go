package progress

import (
	"testing"
	"time"
)

// What was set on a real desk counts nowhere else: neither among the takes, nor in the
// ladder or the advice.
func TestRealDeskApart(t *testing.T) {
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	take := Mark{At: now, Drill: "take", Family: "voice", Level: 3, ErrorDB: 1, Right: true}
	desk := Mark{At: now, Drill: RealDesk, Family: "voice", ErrorDB: 4}
	b := Read([]Mark{take, desk, desk, take})
	if b.Len() != 2 || b.RealDesk().Len() != 2 {
		t.Errorf("%d takes and %d at a real desk, want 2 and 2", b.Len(), b.RealDesk().Len())
	}
	if got := b.Summary(Key{}, 0).Takes; got != 2 {
		t.Errorf("%d takes are summed up, want 2", got)
	}
	if got := b.RealDesk().Summary(Key{Family: "voice"}, 0).Takes; got != 2 {
		t.Errorf("%d rounds at a real desk are summed up, want 2", got)
	}
	if b.TakesSince(now) != 2 {
		t.Errorf("%d takes today, want 2", b.TakesSince(now))
	}
}
