package window

import (
	"testing"
)

// TestShowMe lets the line-up be demonstrated: the fader moves on its own to the
// right place, and a round of one's own follows.
func TestShowMe(t *testing.T) {
	t.Parallel()
	a := start(t, options{size: "640x400", settings: `{"caution_seen":true,"drill":"line-up"}`})
	a.Screen("home")
	a.To("Return", "round")
	a.For("w", "begin")
	a.Event("shown")
	a.Screen("round")
	a.Shot("show-me")
	a.To("Return", "round")
}
