package round

import (
	"math"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/drills/testform"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
)

// A round of a test form that is left goes on with the time that was left, also after a
// restart: however often it is left, it is heard for no more than is allowed (57 s at step
// 6, as the guide has it). A page that is loaded again does not say that it leaves, and gains
// less than six seconds. The next round has its full time.
func TestALeftRoundOfAFormGoesOn(t *testing.T) {
	d := &device{}
	first := at(t, d)
	session := first.session
	begun := func(p *practice.Session) *Scene {
		t.Helper()
		a, err := p.Form().Wait()
		if err != nil {
			t.Fatal(err)
		}
		s, err := New(scene.Base{Screen: first.Screen, To: nowhere{}}, nowhere{}, p, d, a)
		if err != nil {
			t.Fatal(err)
		}
		d.heard = 0
		s.begin()
		return s
	}
	hear := func(s *Scene, seconds float64) {
		for i := 0.5; i <= seconds; i += 0.5 {
			d.heard = int64(i*audio.Rate) + int64(s.p.Desk.Latency())
			s.Update(&hand.State{})
		}
	}
	within := func(what string, got, want, off float64) {
		t.Helper()
		if math.Abs(got-want) > off {
			t.Errorf("%s there are %.2f s, want %.0f", what, got, want)
		}
	}
	s := begun(session)
	within("at first", s.p.A.Seconds, 57, 0)
	hear(s, 20)
	s.Leave()
	s = begun(session)
	within("after 20 s were heard", s.p.A.Seconds, 37, 0.01)
	hear(s, 22.5) // and the page is loaded again
	prefs := session.Prefs.Settings
	again := practice.NewSession(21, "test", store.NewKeeper(prefs, func() {}), session.Records)
	s = begun(again)
	if left := s.p.A.Seconds; left < 14.5 || left > 20.5 {
		t.Errorf("after 22.5 s more there are %.2f s", left)
	}
	hear(s, s.p.A.Seconds-0.5)
	session = again
	session.Left(s.p.A, s.p.A.Seconds) // at the very end
	if s = begun(session); s.p.A.Seconds <= 0 || s.p.A.Seconds > 0.1 {
		t.Errorf("left at its very end it goes on with %v s (0 would be no limit)", s.p.A.Seconds)
	}
	hear(s, 1)
	if s.stage != locked {
		t.Fatalf("heard for longer than is allowed, the round is at stage %v", s.stage)
	}
	for end := time.Now().Add(time.Minute); len(again.Records.Book.Forms()) == 0 && again.TestForms().Done == 0; again.Update() {
		if time.Now().After(end) {
			t.Fatal("the take is not kept")
		}
	}
	if next := begun(again); again.TestForms().Done != 1 || next.p.A.Seconds != 57 {
		t.Errorf("round %d of %d has %v s", again.TestForms().Done+1, testform.Rounds, next.p.A.Seconds)
	}
}
