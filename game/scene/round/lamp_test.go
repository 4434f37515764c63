package round

import (
	"slices"
	"testing"

	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/widget"
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

// What is drawn again when the lamp changes takes nothing of a needle, wherever that stands:
// one that rests would stay cut off.
func TestLampLeavesNeedlesWhole(t *testing.T) {
	for _, drill := range drills.Drills() {
		s := of(t, &device{}, drill.ID)
		for _, size := range [][2]int{{960, 600}, {1280, 800}, {1920, 1080}, {768, 1024}, {740, 360}, {360, 740}} {
			for _, text := range []float64{1, 1.5, 2} {
				m := draw.Measure(size[0], size[1], 1, text)
				draw.Items(m, &draw.Slate, func(c *draw.Canvas) {
					s.Draw(c)
					if !s.view.lamp || m.TooSmall {
						return
					}
					lamp := s.view.bulb.Area(m.Text)
					for i, f := range s.view.faces {
						for d := 0.0; d < 1.05; d += 0.01 {
							if slices.ContainsFunc(widget.DrawNeedles(c, f.Face, 3.5, d), lamp.Meets) {
								t.Errorf("%s at %dx%d, text %.0f %%: the lamp's place meets needle %d at %.2f", drill.ID, size[0], size[1], 100*text, i, d)
								return
							}
						}
					}
				})
			}
		}
	}
}
