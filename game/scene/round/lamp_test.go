package round

import (
	"testing"

	"slowneedle/drills"
	"slowneedle/game/draw"
)

// Where the lamp is all there is to go by, its disc is at least a quarter as high as the
// window.
func TestLampAloneIsLarge(t *testing.T) {
	s := of(t, &device{}, drills.LampCount)
	for _, size := range [][2]int{{960, 600}, {1280, 800}, {1920, 1080}, {3840, 2160}} {
		m := draw.Measure(size[0], size[1], 1, 1)
		draw.Items(m, &draw.Slate, s.Draw)
		if high := 2 * s.view.bulb.R / m.H; !s.lampAlone() || high < 0.25 {
			t.Errorf("at %dx%d the lamp takes %.2f of the height, want 0.25", size[0], size[1], high)
		}
	}
}
