package round

import (
	"slowneedle/drills"
	"testing"

	"slowneedle/game/practice"
	"slowneedle/game/widget"
)

// Before anything is heard every needle lies at its stop, not beyond the scale.
func TestMetersStartAtRest(t *testing.T) {
	s := &Scene{p: &practice.Play{A: &practice.Assignment{Exercise: &drills.Exercise{}}}, meters: meters{snap: atRest()}}
	for i := range 2 {
		if p := widget.Deflection(s.level(i) + 18); p != 0 {
			t.Errorf("needle %d stands at %.2f of the scale before the sound, want 0", i, p)
		}
		if s.meters.programme = true; s.deflect(s.level(i)+9) > 0 {
			t.Errorf("programme meter %d stands at %.2f of the scale before the sound, want 0", i, s.deflect(s.level(i)+9))
		}
		s.meters.programme = false
	}
}
