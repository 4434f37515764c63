package browser

import (
	"context"
	"testing"

	"github.com/chromedp/chromedp"
)

// A round goes on while the page is zoomed, as by the browser's own keys or by
// moving it to a screen of other dots: half as many points with twice as many
// dots each. What is touched is where it is seen.
func playZoomed(t *testing.T, s served, browser context.Context) {
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21", 1600, 1000)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.press(enter, func() event { return p.screen("round") })
	p.press(enter, func() event { p.event("begin"); return p.screen("round") })
	p.press(pageUp, func() event { return p.event("fader") })
	// The round as it lies in a window so high: it may have been drawn once more
	// before.
	laid := func(high float64) event {
		t.Helper()
		return p.next("the round in the new window", func(e event) bool {
			if !e.is("screen") || e.str("scene") != "round" {
				return false
			}
			_, _, bottom := e.track(t, "slider.0.track")
			return bottom > high/2 && bottom < high
		})
	}
	p.do(chromedp.EmulateViewport(800, 500, chromedp.EmulateScale(2)))
	p.setFader(laid(500), 0.4)
	p.shot("web-zoomed")
	p.do(chromedp.EmulateViewport(1600, 1000))
	p.setFader(laid(1000), 0.3)
	p.press(enter, func() event { p.event("verdict"); return p.screen("verdict") })
}
