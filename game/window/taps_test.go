package window

import (
	"math"
	"testing"
)

// Keys and buttons that go down and up within one frame, as remote desktops and
// keyboards on a screen send them, are not lost, nor is one of two keys in one frame:
// 26 steps of the fader, and a click. (The same key twice in one frame is one press:
// the window library tells no more.)
func TestShortTaps(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: `{"caution_seen":true,"drill":"take"}`})
	a.Screen("home")
	_, round := a.InRound()
	at := a.For("Prior", "fader").Num("db")
	const taps = 26
	for i := 0; i < taps; i += 2 {
		keys, want := []string{"Up", "Prior"}, at+4
		if i%4 > 0 {
			keys, want = []string{"Down", "Next"}, at-4
		}
		a.hands("key", "--delay", "0", keys[0], keys[1])
		a.Event("fader")
		if at = a.Event("fader").Num("db"); at != want {
			t.Errorf("after taps %d and %d the fader is at %g dB, want %g", i+1, i+2, at, want)
		}
	}
	a.hands("keydown", "shift") // it is let go within the frame in which the other key goes down
	a.hands("key", "--delay", "0", "Up", "keyup", "shift")
	if db := a.Event("fader").Num("db"); math.Abs(db-at-0.1) > 0.01 {
		t.Errorf("after a tap with shift the fader is at %g dB, want %g", db, at+0.1)
	}

	x, y := round.Place(t, "monitor.more")
	a.moveTo(x, y)
	a.hands("mousedown", "1", "mouseup", "1")
	a.Next("the monitor one decibel louder", func(e event) bool { return e.Is("screen") && e.Says("−29") })
}
