package window

import "testing"

// A round goes on while the window is made too small, and large again, and is
// locked afterwards.
func TestResizeInMidRound(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm, size: "960x600", display: "1600x1000"})
	a.screen("home")
	a.press("Return", func() event { return a.screen("round") })
	a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	resize := func(w, h string, small bool) {
		a.hands("search", "--sync", "--name", "^slowneedle$", "windowsize", w, h)
		a.next("the window at "+w+"x"+h, func(e event) bool { return e.is("screen") && e["small"] == small })
	}
	a.press("Prior", func() event { return a.next("move", isFader) })
	resize("300", "200", true)
	resize("1500", "700", false)
	a.press("Prior", func() event { return a.next("move", isFader) })
	resize("640", "960", false)
	a.shot("round-640x960")
	e := a.press("Return", func() event { return a.next("verdict", func(e event) bool { return e.is("verdict") }) })
	checkVerdict(t, e)
}

// The tour is offered at the first run, and from help.
func TestTour(t *testing.T) {
	t.Parallel()
	a := start(t, options{})
	a.screen("cautions")
	a.press("t", func() event { return a.screen("tour") })
	a.shot("tour-1")
	a.press("Return", func() event { return a.screen("tour") })
	a.shot("tour-2")
	a.press("Return", func() event { return a.screen("tour") })
	a.shot("tour-3")
	a.press("Return", func() event { return a.screen("cautions") })
	a.press("Return", func() event { return a.screen("home") })
	a.press("h", func() event { return a.screen("help") })
	a.press("t", func() event { return a.screen("tour") })
	a.press("Escape", func() event { return a.screen("help") })
}
