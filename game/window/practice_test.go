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
			t.Parallel()
			p := walk{app: start(t, options{size: l.size, settings: l.settings}), pre: "practice-", size: l.size, end: l.size, fingers: l.size != "960x600"}
			p.look("home", p.screen("home"))
			p.to("Return", "round", "card")
			for rounds := 1; ; rounds++ {
				p.press("Return", func() event { return p.next("sound", func(e event) bool { return e.is("begin") }) })
				p.press("Prior", func() event { return p.next("fader move", isFader) })
				p.back("Return", "verdict")
				over := false
				e := p.press("Return", func() event {
					return p.next("what follows", func(e event) bool {
						over = e.str("scene") == "summary"
						return e.is("screen") && (over || e.str("scene") == "round")
					})
				})
				if over {
					p.look("summary", e)
					if rounds < plan.Short {
						t.Errorf("the practice is over after %d rounds", rounds)
					}
					break
				}
			}
			p.to("Return", "home", "home-after")
		})
	}
}

// TestPracticeByMouse ends a practice early with nothing but clicks.
func TestPracticeByMouse(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: `{"caution_seen":true,"reduced_motion":true}`})
	on := func(e event, place, scene string) event {
		t.Helper()
		x, y := e.place(t, place)
		return a.click(x, y, func() event { return a.screen(scene) })
	}
	e := on(a.screen("home"), "start", "round")
	x, y := e.place(t, "key.enter")
	a.click(x, y, func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	e = a.next("the fader", func(e event) bool {
		places, _ := e["places"].(map[string]any)
		return e.is("screen") && places["slider.0.track"] != nil
	})
	x, y = e.place(t, "slider.0.track")
	a.click(x, y, func() event { return a.next("fader move", isFader) })
	e = on(e, "key.enter", "verdict")
	e = on(e, "key.end", "summary")
	a.shot("practice-summary-mouse-1280x800")
	e = on(e, "done", "home")
	e = on(e, "key.progress", "progress")
	on(e, "steps.line-up", "progress")
	a.shot("practice-errors-mouse-1280x800")
}
