package widget

import (
	"slices"
	"strings"
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
			Strip{Past: &h, Moves: moves, Names: names, Rig: drills.DigitalRig()}.Draw(c, draw.R(48, 300, 900, 300), w)
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

// Of two channels that are compared the strip shows both needles, each with its name at
// its own height, whatever the sum of them shows.
func TestTwoNeedlesInTheStrip(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	var h sound.History
	for at := int64(0); at < 10*audio.Rate; at += sound.ColumnFrames {
		h.Add(desk.Snapshot{At: at, NeedleDBFS: [2]float64{-19, -19}}, -30, -99, -12)
	}
	height := func(compared []int) map[string]float64 {
		all := map[string]float64{}
		for _, it := range draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, func(c *draw.Canvas) {
			Strip{Past: &h, Names: []string{"A", "B", "C"}, Compared: compared, Rig: drills.DigitalRig()}.Draw(c, draw.R(48, 300, 900, 300), w)
		}) {
			all[it.Label] = it.Place.Y
			if strings.Contains(it.Label, "needles of A and C") {
				all["caption"] = it.Place.Y
			}
		}
		return all
	}
	both := height([]int{0, 2})
	a, okA := both["A"]
	c, okC := both["C"]
	if !okA || !okC || c >= a {
		t.Errorf("A at %.0f (%v), C, 18 dB louder, at %.0f (%v): want both, C the higher", a, okA, c, okC)
	}
	if both["caption"] == 0 {
		t.Error("the caption does not tell whose needles are shown")
	}
	if _, ok := both["B"]; ok {
		t.Error("B is shown, which is not compared")
	}
	if _, ok := height(nil)["A"]; ok {
		t.Error("A is named where nothing is compared")
	}
}
