package window

import (
	"fmt"
	"testing"

	"slowneedle/drills"
)

// TestEveryDrill plays each drill in the window by keyboard to its verdict,
// which must be the pure function's.
func TestEveryDrill(t *testing.T) {
	for _, d := range drills.Drills() {
		t.Run(d.ID, func(t *testing.T) {
			t.Parallel()
			a := start(t, options{settings: fmt.Sprintf(`{"caution_seen":true,"drill":%q}`, d.ID)})
			a.screen("home")
			a.press("Return", func() event { return a.screen("round") })
			a.shot("drill-" + d.ID + "-card")
			begin := func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) }
			a.press("Return", begin)
			a.screen("round")
			if d.ID == drills.TrustIt || d.ID == drills.OddOne {
				a.press("2", func() event { return a.next("choice", func(e event) bool { return e.is("choice") }) })
			} else {
				for range 6 {
					a.press("Prior", func() event { return a.next("move", isFader) })
				}
			}
			a.shot("drill-" + d.ID)
			verdict := func() event { return a.next("verdict", func(e event) bool { return e.is("verdict") }) }
			var e event
			if d.ID == drills.Ride {
				e = verdict()
			} else {
				if d.ID == drills.Soundcheck {
					a.press("Return", func() event { return a.next("take", func(e event) bool { return e.is("take") }) })
					a.shot("drill-" + d.ID + "-take")
				}
				e = a.press("Return", verdict)
			}
			a.screen("verdict")
			a.shot("drill-" + d.ID + "-verdict")
			checkVerdict(t, e)
		})
	}
}

// TestShowMe lets the line-up be demonstrated: the fader moves on its own to the
// right place, and a round of one's own follows.
func TestShowMe(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: `{"caution_seen":true,"drill":"line-up"}`})
	a.screen("home")
	a.press("Return", func() event { return a.screen("round") })
	a.press("w", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	a.next("end of the demonstration", func(e event) bool { return e.is("shown") })
	a.screen("round")
	a.shot("show-me")
	a.press("Return", func() event { return a.screen("round") })
}
