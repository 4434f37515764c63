package window

import (
	"testing"

	"slowneedle/drills/plan"
)

// TestPracticeByKeyboard practises from the first screen to the summary and back,
// and looks at what only a practice shows.
func TestPracticeByKeyboard(t *testing.T) {
	for _, l := range []struct{ size, settings string }{
		{"960x600", `{"caution_seen":true,"reduced_motion":true,"practice_length":"short","theme":"paper","language":"de"}`},
		{"360x740", `{"caution_seen":true,"reduced_motion":true,"practice_length":"short"}`},
		{"844x390", `{"caution_seen":true,"reduced_motion":true,"practice_length":"short","theme":"paper"}`},
	} {
		t.Run(l.size, func(t *testing.T) {
			inTurn(t)
			a := start(t, options{size: l.size, settings: l.settings})
			w := a.walk(l.size, "practice-", l.size)
			if l.size != "960x600" {
				w = a.handheld(l.size, "practice-", l.size)
			}
			w.Look("home", w.Screen("home"))
			if rounds := w.Practice(); rounds < plan.Short {
				t.Errorf("the practice is over after %d rounds", rounds)
			}
			w.See("Return", "home", "home-after")
		})
	}
}

// TestPracticeByMouse ends a practice early with nothing but clicks.
func TestPracticeByMouse(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: `{"caution_seen":true,"reduced_motion":true}`})
	e := a.ClickOn(a.Screen("home"), "start", "round")
	x, y := e.Place(t, "key.enter")
	a.Click(x, y, func() event { return a.Event("begin") })
	e = a.faders()
	x, y = e.Place(t, "slider.0.track")
	a.Click(x, y, func() event { return a.Event("fader") })
	e = a.ClickOn(e, "key.enter", "verdict")
	e = a.ClickOn(e, "key.end", "summary")
	a.Shot("practice-summary-mouse-1280x800")
	e = a.ClickOn(e, "done", "home")
	e = a.ClickOn(e, "key.progress", "progress")
	a.ClickOn(e, "steps.line-up", "progress")
	a.Shot("practice-errors-mouse-1280x800")
}
