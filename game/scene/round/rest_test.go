package round

import (
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/plan"
	"slowneedle/game/practice"
	"slowneedle/game/store"
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

// While the take is played after a soundcheck, the marks do not tell what comes of it.
func TestMarksWaitForTheTake(t *testing.T) {
	s := of(t, &device{}, drills.Soundcheck)
	s.session.Prefs.Change(func(p *store.Settings) {
		p.Practice = plan.Practice{Done: make([]plan.Round, 2), Ahead: make([]plan.Turn, 3)}
	})
	for stage, want := range map[stage]int{playing: 2, performing: 1} {
		s.stage = stage
		if p := s.marked(); len(p.Done) != want || len(p.Done)+len(p.Ahead) != 5 {
			t.Errorf("at stage %d %d rounds are marked as done and %d as ahead, want %d of 5", stage, len(p.Done), len(p.Ahead), want)
		}
	}
}
