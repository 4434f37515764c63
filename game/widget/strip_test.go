package widget

import (
	"slices"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/sound"
	"slowneedle/game/words"
)

// The marks of moves name the control where there are several, and a drag leaves
// one mark where it came to rest, whatever else was moved meanwhile.
func TestMovesNameTheirControl(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	var h sound.History
	h.Add(desk.Snapshot{At: 10 * audio.Rate})
	moves := []drills.Move{
		{At: 1 * audio.Rate, Control: 0, To: -3}, {At: 1*audio.Rate + 100, Control: 1, To: -20}, {At: 1*audio.Rate + 200, Control: 0, To: -4},
		{At: 6 * audio.Rate, Control: 1, To: -21},
	}
	marks := func(names []string) []string {
		items := draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, func(c *draw.Canvas) {
			DrawStrip(c, draw.R(48, 300, 900, 300), &h, moves, names, drills.DigitalRig(), w)
		})
		var all []string
		for _, it := range items {
			all = append(all, it.Label)
		}
		return all
	}
	for _, c := range []struct{ names, want, not []string }{
		{[]string{"A", "B"}, []string{"B −20.0", "B −21.0"}, []string{"A −3.0", "−20.0"}},
		{[]string{"A"}, []string{"−20.0", "−21.0"}, []string{"−3.0"}},
	} {
		got := marks(c.names)
		for _, m := range c.want {
			if !slices.Contains(got, m) {
				t.Errorf("with the names %q there is no mark %q: %q", c.names, m, got)
			}
		}
		for _, m := range c.not {
			if slices.Contains(got, m) {
				t.Errorf("with the names %q there is a mark %q", c.names, m)
			}
		}
	}
}
