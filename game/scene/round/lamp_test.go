package round

import (
	"testing"

	"slowneedle/drills"
	"slowneedle/game/draw"
)

// Where the lamp is all there is to go by, its disc is at least a quarter as high as the
// window, on an upright phone with the ring around it that is counted by, which reaches 24
// beyond the disc.
func TestLampAloneIsLarge(t *testing.T) {
	s := of(t, &device{}, drills.LampCount)
	for _, size := range [][2]int{{960, 600}, {1280, 800}, {1920, 1080}, {3840, 2160}, {768, 1024}, {740, 360}, {360, 740}, {412, 915}} {
		m := draw.Measure(size[0], size[1], 1, 1)
		draw.Items(m, &draw.Slate, s.Draw)
		high := 2 * s.view.bulb.R
		if m.Phone && m.Portrait {
			high += 2 * 24
		}
		if !s.lampAlone() || high < m.H/4 {
			t.Errorf("at %dx%d the lamp takes %.2f of the height, want 0.25", size[0], size[1], high/m.H)
		}
	}
}
